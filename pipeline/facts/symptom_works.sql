-- One row per index job, symptom it shows and work done in it, with the first return to the machine.
-- A work is a part with what was done to it, or a cause outside the machine; a job that does not say what was done has one
-- row without. Works done together are one fix: count_works says how many rows make it.
with
done as (
    select job_no, part_key as subject, action
    from facts.job_parts
    union all
    select job_no, 'outside: ' || cause as subject, action
    from facts.outside_causes
),

works as (
    select job_no, subject, action, count(*) over (partition by job_no) as count_works
    from done
)

select
    shown.symptom,
    jobs.job_no,
    jobs.unit_type,
    jobs.make,
    jobs.model,
    jobs.fault_code,
    jobs.hands_on_min,
    jobs.finished_on,
    works.subject,
    works.action,
    coalesce(works.count_works, 0) as count_works,
    returns.job_no is not null as is_followed,
    returns.next_on,
    returns.days_to_next,
    returns.next_is_same_fault,
from tables.job_symptoms as shown
join tables.jobs as jobs on jobs.job_no = shown.job_no and jobs.is_index
left join works on works.job_no = jobs.job_no
left join facts.repeats as returns on returns.job_no = jobs.job_no
