-- One row per visit, numbered within its job in the order in which the visits took place.
-- Attended: somebody stood before the machine. A visit that was cancelled or found nobody in is none; a visit that is
-- still open, or has no outcome, is one only when it has an end.
with
heads as (select * from tables.visit_heads),

-- Most jobs have one visit: only the others have to be put in order.
several as (
    select job_no, visit_ref, number_given, first_row_no, coalesce(finished_at, started_at, booked_for_at) as own_at
    from heads
    where job_no in (select job_no from heads group by job_no having count(*) > 1)
),

-- A visit without a time stands where its number puts it.
timed as (
    select
        *,
        coalesce(
            own_at,
            max(own_at) over (
                partition by job_no
                order by number_given, first_row_no
                rows between unbounded preceding and current row
            )
        ) as stands_at,
    from several
),

numbered as (
    select
        job_no,
        visit_ref,
        cast(
            row_number() over (
                partition by job_no order by stands_at nulls first, number_given, first_row_no
            ) as integer
        ) as visit_no,
    from timed
),

ordered as (
    select heads.*, coalesce(numbered.visit_no, 1) as visit_no
    from heads
    left join numbered on numbered.job_no = heads.job_no and numbered.visit_ref = heads.visit_ref
)

select
    job_no,
    visit_no,
    job_no * 100000 + visit_no as visit_key,
    visit_ref,
    first_row_no,
    booked_for_at,
    booked_for_on,
    started_at,
    started_on,
    finished_at,
    finished_on,
    outcome,
    coalesce(outcome, '') not in ('cancelled', 'no access')
        and (coalesce(outcome, 'open') <> 'open' or finished_at is not null) as is_attended,
    hands_on_min,
    travel_min,
    technician,
    charge_minor,
    callout_charge_minor,
    labour_charge_minor,
    part_charge_minor,
    currency,
    payer,
    second_visit_reason,
    installation_looked_at,
    advised_not_done,
    test_run,
    leak_check,
    safety_test,
from ordered
