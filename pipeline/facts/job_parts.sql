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

several as (
    select job_no
    from works
    group by job_no
    having count(*) > 1
),

strongest as (
    select job_no, part_key, min_by(action, strength) as action, min_by(part_source, strength) as part_source
    from works
    where job_no in (select job_no from several)
    group by job_no, part_key
),

-- Most jobs say one work.
done as (
    select *, count(*) over (partition by job_no) - 1 as count_other_parts
    from strongest
    union all
    select job_no, part_key, action, part_source, 0 as count_other_parts
    from works
    where not exists (select 1 from several where several.job_no = works.job_no)
)

select
    done.job_no,
    done.part_key,
    done.action,
    done.part_source,
    done.count_other_parts,
    jobs.machine_no,
    jobs.unit_type,
    jobs.is_fault,
    jobs.is_index,
    jobs.reported_at,
    jobs.reported_on,
    jobs.finished_at,
    jobs.finished_on,
from done
join tables.jobs as jobs on jobs.job_no = done.job_no
