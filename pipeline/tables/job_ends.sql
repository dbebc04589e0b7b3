-- One row per job: how its visits ended it.
-- The last attended visit decides. Temporary, return booked, awaiting customer, not finished, open and none leave the
-- job open, and so does any word that nothing has settled; whatever its outcome, a job ends when that visit ends.
with
several as (select job_no from tables.visits where visit_no = 2),

attended as (
    select
        job_no,
        min(case when is_attended then visit_no end) as first_attended_no,
        max(case when is_attended then visit_no end) as last_attended_no,
        max(visit_no) as last_no,
        count(*) filter (where is_attended) as count_visits,
        sum(hands_on_min) as hands_on_min,
        sum(travel_min) as travel_min,
        cast(sum(charge_minor) as bigint) as charge_minor,
        min_by(payer, case when payer is not null then visit_no end) as payer,
        min_by(currency, case when currency is not null then visit_no end) as currency,
        min_by(second_visit_reason, case when second_visit_reason is not null then visit_no end) as second_visit_reason,
    from tables.visits
    where job_no in (select job_no from several)
    group by job_no
),

joined as (
    select
        attended.*,
        coalesce(first_visit.started_on, first_visit.finished_on) as first_visit_on,
        deciding.outcome,
        deciding.finished_at,
        deciding.finished_on,
        deciding.technician as technician_last,
    from attended
    left join tables.visits as first_visit
        on first_visit.job_no = attended.job_no and first_visit.visit_no = attended.first_attended_no
    join tables.visits as deciding
        on deciding.job_no = attended.job_no
        and deciding.visit_no = coalesce(attended.last_attended_no, attended.last_no)
),

-- Most jobs have one visit, which says all of it by itself.
single as (
    select
        job_no,
        case when is_attended then visit_no end as first_attended_no,
        case when is_attended then visit_no end as last_attended_no,
        visit_no as last_no,
        case when is_attended then 1 else 0 end as count_visits,
        hands_on_min,
        travel_min,
        charge_minor,
        payer,
        currency,
        second_visit_reason,
        case when is_attended then coalesce(started_on, finished_on) end as first_visit_on,
        outcome,
        finished_at,
        finished_on,
        technician as technician_last,
    from tables.visits as visits
    where not exists (select 1 from several where several.job_no = visits.job_no)
),

ended as (
    select *
    from joined
    union all
    select *
    from single
),

closed as (
    select
        *,
        last_attended_no is not null
            and coalesce(outcome, '') in (
                'fixed', 'no fault found', 'advised', 'quote declined', 'beyond economic repair', 'referred',
                'made safe', 'unknown'
            ) as is_closed,
    from ended
)

select
    job_no,
    first_attended_no,
    last_attended_no,
    cast(count_visits as integer) as count_visits,
    hands_on_min,
    travel_min,
    charge_minor,
    payer,
    currency,
    second_visit_reason,
    first_visit_on,
    outcome,
    is_closed,
    case when is_closed then finished_at end as finished_at,
    case when is_closed then finished_on end as finished_on,
    technician_last,
from closed
