-- One row per row of a log without job numbers: the job that it belongs to, its visit there, and the rule that says so.
-- A visit that left the job open for a planned return (return booked, awaiting customer, temporary, no access, not
-- finished, or no outcome and a part on order) is followed by the next visit to the machine, within 60 days, or within
-- 180 days where a part was on order: the same job. After any other visit a new job begins. Work of another kind than
-- faults is never joined to a fault. A job is known by the first row of its first visit.
with
visits as (
    select
        first_given_no,
        source,
        machine_key,
        kind,
        visit_on,
        visit_start,
        max(is_on_order) as is_on_order,
        max(
            case
                when outcome in ('return booked', 'awaiting customer', 'temporary', 'no access', 'not finished') then 1
                else 0
            end
        ) as is_left,
        max(
            case
                when outcome in (
                    'fixed', 'no fault found', 'advised', 'quote declined', 'beyond economic repair', 'referred',
                    'made safe'
                ) then 1
                else 0
            end
        ) as is_closed,
        count(outcome) as count_outcomes,
    from tables.built_visits
    group by first_given_no, source, machine_key, kind, visit_on, visit_start
),

-- Where the rows of a visit disagree it was closed.
judged as (
    select
        *,
        case
            when is_closed = 0 and (is_left = 1 or (count_outcomes = 0 and is_on_order = 1))
                then case when is_on_order = 1 then 180 else 60 end
            else -1
        end as return_days,
    from visits
),

followed as (
    select
        *,
        lag(visit_on) over machine as visit_before_on,
        lag(return_days) over machine as return_days_before,
        lag(is_closed) over machine as is_closed_before,
    from judged
    where machine_key is not null
    window machine as (
        partition by source, machine_key, kind
        order by visit_on, visit_start nulls first, first_given_no
    )
),

ruled as (
    select
        *,
        case
            when date_diff('day', visit_before_on, visit_on) <= return_days_before then 'planned return'
            when is_closed_before = 1 then 'new after a closed job'
            else 'new'
        end as joined_by,
    from followed
),

counted as (
    select
        *,
        sum(case when joined_by = 'planned return' then 0 else 1 end) over (
            partition by source, machine_key, kind
            order by visit_on, visit_start nulls first, first_given_no
            rows between unbounded preceding and current row
        ) as place_of_job,
    from ruled
),

placed as (
    select
        first_given_no,
        first_value(first_given_no) over (
            partition by source, machine_key, kind, place_of_job
            order by visit_on, visit_start nulls first, first_given_no
            rows between unbounded preceding and current row
        ) as job_no,
        joined_by,
    from counted
    union all
    select first_given_no, first_given_no, 'new'
    from judged
    where machine_key is null
)

select
    visits.given_no,
    placed.job_no,
    coalesce(cast(visits.visit_start as varchar), cast(visits.visit_on as varchar)) as visit_ref,
    placed.joined_by,
    row_number() over (
        partition by placed.job_no order by visits.visit_on, visits.visit_start nulls first, visits.given_no
    ) as place,
from tables.built_visits as visits
join placed on placed.first_given_no = visits.first_given_no
