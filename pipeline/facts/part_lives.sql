-- One row per fix of a part on a known machine: when it ended, and when the part was next worked on.
-- Only work on the same part of the same machine ends a life; jobs on other parts do not. Again: the part had been
-- cleaned or freed before, since it was last replaced.
with
works as (
    select job_no, machine_no, part_key, action, part_source, is_index, reported_at, reported_on, finished_at, finished_on
    from facts.job_parts
    where is_fault and machine_no is not null
),

-- Most parts of machines were worked on once: nothing stands before or after that.
several as (
    select machine_no, part_key
    from works
    group by machine_no, part_key
    having count(*) > 1
),

repeated as (
    select works.*
    from works
    join several on several.machine_no = works.machine_no and several.part_key = works.part_key
),

-- Fixes and reports of one part in one line of time, as for repeat visits: at one moment the report comes first.
moments as (
    select machine_no, part_key, finished_at as moment, 1 as kind, job_no, action
    from repeated
    where is_index
    union all
    select machine_no, part_key, reported_at, 0, job_no, action
    from repeated
    where reported_at is not null
),

renewed as (
    select
        *,
        coalesce(
            sum(case when kind = 1 and action = 'replace' then 1 else 0 end) over (
                partition by machine_no, part_key
                order by moment, kind, job_no
                rows between unbounded preceding and 1 preceding
            ),
            0
        ) as count_replaced_before,
    from moments
),

followed as (
    select
        machine_no,
        part_key,
        kind,
        job_no,
        action,
        min(case when kind = 0 then moment end) over (
            partition by machine_no, part_key
            order by moment, kind, job_no
            rows between 1 following and unbounded following
        ) as next_at,
        sum(case when kind = 1 and action in ('clean', 'free') then 1 else 0 end) over (
            partition by machine_no, part_key, count_replaced_before
            order by moment, kind, job_no
            rows between unbounded preceding and 1 preceding
        ) as count_cleaned_before,
    from renewed
),

next_days as (
    select machine_no, part_key, reported_at, min(reported_on) as reported_on
    from repeated
    where reported_at is not null
    group by machine_no, part_key, reported_at
),

placed as (
    select
        followed.job_no,
        followed.part_key,
        followed.count_cleaned_before,
        next_days.reported_on as next_on,
    from followed
    left join next_days
        on next_days.machine_no = followed.machine_no
        and next_days.part_key = followed.part_key
        and next_days.reported_at = followed.next_at
    where followed.kind = 1
)

select
    works.job_no,
    works.machine_no,
    works.part_key,
    case
        when works.action in ('clean', 'free') and coalesce(placed.count_cleaned_before, 0) > 0
            then works.action || ', again'
        else works.action
    end as action,
    coalesce(placed.count_cleaned_before, 0) > 0 as is_cleaned_before,
    works.part_source,
    works.finished_at,
    works.finished_on,
    placed.next_on,
    case when machines.ended_on >= works.finished_on then machines.ended_on end as removed_on,
from works
join tables.machines as machines on machines.machine_no = works.machine_no
left join placed on placed.job_no = works.job_no and placed.part_key = works.part_key
where works.is_index
