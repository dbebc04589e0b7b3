-- One row per used line of a visit's own file, with its job and the visit of the job that it belongs to.
-- Kept as a view.
-- visit_ref tells the visits of a job apart: by number, where there is none by start; visits that came under another
-- number with a suffix, by that number too.
select
    lines.* exclude (job_no, visit_ref),
    coalesce(joined.job_no, lines.job_no) as job_no,
    case
        when joined.visit_ref is not null then joined.visit_ref
        when joined.job_no is not null
            then cast(lines.job_no as varchar) || ' ' || coalesce(lines.visit_ref, unnumbered.visit_start)
        else coalesce(lines.visit_ref, unnumbered.visit_start)
    end as visit_ref,
from tables.given_lines as lines
left join tables.joined_jobs as joined on joined.given_no = lines.job_no
left join tables.unnumbered_visits as unnumbered on unnumbered.row_no = lines.row_no
