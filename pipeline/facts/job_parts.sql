-- One row per job of any kind and part it worked on, with the strongest thing done to that part, where the part came
-- from, and how many other parts the job worked on.
with
works as (
    select
        job_no,
        part_key,
        action,
        part_source,
        case action
            when 'replace' then 1
            when 'repair' then 2
            when 'free' then 3
            when 'clean' then 4
            when 'adjust' then 5
            when 'reset' then 6
        end as strength,
    from tables.lines
    where is_worked_part
),

strongest as (
    select job_no, part_key, min_by(action, strength) as action, min_by(part_source, strength) as part_source
    from works
    group by job_no, part_key
)

select
    strongest.job_no,
    strongest.part_key,
    strongest.action,
    strongest.part_source,
    count(*) over (partition by strongest.job_no) - 1 as count_other_parts,
    jobs.machine_no,
    jobs.unit_type,
    jobs.is_fault,
    jobs.is_index,
    jobs.reported_at,
    jobs.reported_on,
    jobs.finished_at,
    jobs.finished_on,
from strongest
join tables.jobs as jobs on jobs.job_no = strongest.job_no
