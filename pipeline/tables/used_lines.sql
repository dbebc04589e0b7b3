-- One row per used line of the log, with the visit of its job that it belongs to.
-- Kept as a view.
-- visit_ref tells the visits of a job apart: by number, where there is none by start.
select
    lines.* exclude (visit_ref),
    coalesce(lines.visit_ref, unnumbered.visit_start) as visit_ref,
from normalise.lines as lines
left join tables.unused_rows as unused on unused.row_no = lines.row_no
left join tables.unnumbered_visits as unnumbered on unnumbered.row_no = lines.row_no
where unused.row_no is null
