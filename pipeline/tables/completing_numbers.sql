-- One row per row that completes a visit and names a job of the other layout by its number: that job as given.
-- The same number may stand in two sources; then it names none.
with
jobs as (
    select distinct lines.job_no, lines.job_id, files.layout
    from tables.given_lines as lines
    join normalise.files as files on files.file_no = lines.file_no
    where files.layout in (select layout from tables.completing_lines)
)

select
    completing.row_no,
    min(jobs.job_no) as given_no,
    count(*) as count_jobs,
from tables.completing_lines as completing
join jobs on jobs.layout = completing.layout and jobs.job_id = completing.job_id
where completing.completes_by = 'job_id'
group by completing.row_no
