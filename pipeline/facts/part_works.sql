-- One row per fault job and part it worked on.
-- Repeat: the part of that machine was worked on by an earlier job that finished at most repeat_days before. Overlapping:
-- by an earlier job that was not finished when this one was reported. Neither is a failure of its own. Confirmed: not
-- one of those where the same symptom came back within repeat_days of the finish and another part cured it.
with
works as (select * from facts.job_parts),

-- Most parts of machines were worked on once, and have no history.
several as (
    select machine_no, part_key
    from works
    where machine_no is not null and reported_at is not null
    group by machine_no, part_key
    having count(*) > 1
),

-- Of all earlier jobs on the part the one that finished last decides, and one that never finished decides before it.
history as (
    select
        works.job_no,
        works.part_key,
        max(works.finished_at) over earlier as last_finished_at,
        max(works.finished_on) over earlier as last_finished_on,
        max(case when works.finished_at is null then 1 else 0 end) over earlier as is_one_open,
    from works
    join several on several.machine_no = works.machine_no and several.part_key = works.part_key
    where works.reported_at is not null
    window earlier as (
        partition by works.machine_no, works.part_key
        order by works.reported_at, works.job_no
        rows between unbounded preceding and 1 preceding
    )
),

unproven as (
    select distinct works.job_no, works.part_key
    from works
    join facts.same_symptom_cures as cures on cures.job_no = works.job_no
    left join works as cured
        on cured.job_no = cures.later_job_no and cured.part_key = works.part_key
    where cured.job_no is null
)

select
    works.job_no,
    works.machine_no,
    works.unit_type,
    works.part_key,
    works.action,
    works.part_source,
    works.reported_at,
    works.reported_on,
    works.finished_on,
    coalesce(machines.first_job_no = works.job_no, false) as is_first_job,
    coalesce(
        history.last_finished_at < works.reported_at
        and date_diff('day', history.last_finished_on, works.reported_on) <= settings.repeat_days,
        false
    ) as is_repeat,
    coalesce(history.is_one_open = 1 or history.last_finished_at >= works.reported_at, false) as is_overlapping,
    unproven.job_no is null as is_confirmed,
    works.count_other_parts > 0 as is_done_together,
from works
cross join settings."values" as settings
left join tables.machines as machines on machines.machine_no = works.machine_no
left join history on history.job_no = works.job_no and history.part_key = works.part_key
left join unproven on unproven.job_no = works.job_no and unproven.part_key = works.part_key
where works.is_fault
