-- One row per job that says of which other job of its source it is a return.
-- A number that was joined into another job names that one.
select
    heads.job_no,
    coalesce(joined.job_no, numbers.job_no) as of_job_no,
from tables.job_heads as heads
join normalise.job_numbers as numbers on numbers.source = heads.source and numbers.job_id = heads.return_of
left join tables.joined_jobs as joined on joined.given_no = numbers.job_no
where coalesce(joined.job_no, numbers.job_no) <> heads.job_no
