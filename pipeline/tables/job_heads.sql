-- One row per job, with what its lines say about the job and its machine: the first value written is kept.
-- Kept as a view.
-- Of a job joined from several, what its first visit says comes first.
select heads.*
from tables.given_heads as heads
left join tables.joined_jobs as joined on joined.given_no = heads.job_no
where joined.given_no is null
union all
select * from tables.joined_heads
