-- One row per job: the load that first brought a row of it, whether that row still counts or a newer one took its place.
with
rows_of as (
    select
        coalesce(joined.job_no, lines.job_no) as job_no,
        lines.load_no,
    from normalise.lines as lines
    left join tables.joined_jobs as joined on joined.given_no = lines.job_no
    where lines.job_no is not null
)

select
    job_no,
    min(load_no) as first_load_no,
from rows_of
group by job_no
