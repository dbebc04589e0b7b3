-- One row per job: the rule by which its visits were brought together, or by which it is a job of its own.
with
joined as (
    select
        job_no,
        max(case joined_by when 'planned return' then 1 else 0 end) as is_return,
        max(case joined_by when 'number with a suffix' then 1 else 0 end) as is_suffixed,
        min_by(joined_by, place) as begun_by,
    from tables.joined_jobs
    group by job_no
)

select
    heads.job_no,
    case
        when joined.job_no is null then 'same number'
        when joined.is_suffixed = 1 then 'number with a suffix'
        when joined.is_return = 1 then 'planned return'
        else joined.begun_by
    end as joined_by,
from tables.job_heads as heads
left join joined on joined.job_no = heads.job_no
