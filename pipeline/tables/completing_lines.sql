-- One row per usable row of a file that completes the visits of another, with what it is matched by.
select
    lines.row_no,
    files.completes as layout,
    files.completes_by,
    lines.job_id,
    lines.source,
    lines.site_id,
    lines.unit_type,
    coalesce(lines.finished_on, lines.started_on, lines.booked_for_on, lines.reported_on) as day_on,
    lines.reported_on,
from normalise.lines as lines
join normalise.files as files on files.file_no = lines.file_no and files.completes is not null
left join tables.unused_rows as unused on unused.row_no = lines.row_no
where unused.row_no is null
