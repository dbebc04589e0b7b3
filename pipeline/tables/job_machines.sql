-- One row per job: the number of its machine, null where it is not known, and the rung of the ladder that says so.
-- Of a job joined from several, the first that knows its machine says it.
with
linked as (
    select
        keys.job_no as given_no,
        joined.job_no,
        joined.place,
        numbers.machine_no,
        keys.rung,
    from tables.given_keys as keys
    left join tables.joined_jobs as joined on joined.given_no = keys.job_no
    left join tables.machine_numbers as numbers on numbers.machine_key = keys.machine_key
),

joined as (
    select
        job_no,
        min_by(machine_no, case when machine_no is not null then place end) as machine_no,
        coalesce(min_by(rung, case when machine_no is not null then place end), min_by(rung, place)) as machine_rung,
    from linked
    where job_no is not null
    group by job_no
)

select given_no as job_no, machine_no, rung as machine_rung
from linked
where job_no is null
union all
select * from joined
