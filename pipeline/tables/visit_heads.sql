-- One row per visit, with what its lines say about it: the first value written is kept.
with
used as (select * from tables.used_lines),

heads as (
    select
        job_no,
        visit_ref,
        min(row_no) as first_row_no,
        min(visit_no) as number_given,
        min_by(booked_for_at, case when booked_for_at is not null then row_no end) as booked_for_at,
        min_by(booked_for_on, case when booked_for_on is not null then row_no end) as booked_for_on,
        min_by(started_at, case when started_at is not null then row_no end) as started_at,
        min_by(started_on, case when started_on is not null then row_no end) as started_on,
        min_by(finished_at, case when finished_at is not null then row_no end) as finished_at,
        min_by(finished_on, case when finished_on is not null then row_no end) as finished_on,
        min_by(hands_on_min, case when hands_on_min is not null then row_no end) as hands_on_min,
        min_by(travel_min, case when travel_min is not null then row_no end) as travel_min,
        min_by(technician, case when technician is not null then row_no end) as technician,
        min_by(payer, case when payer is not null then row_no end) as payer,
        min_by(outcome, case when outcome is not null then row_no end) as outcome,
        min_by(second_visit_reason, case when second_visit_reason is not null then row_no end) as second_visit_reason,
        min_by(advised_not_done, case when advised_not_done is not null then row_no end) as advised_not_done,
        min_by(installation_looked_at, case when installation_looked_at is not null then row_no end) as installation_looked_at,
        min_by(test_run, case when test_run is not null then row_no end) as test_run,
        min_by(leak_check, case when leak_check is not null then row_no end) as leak_check,
        min_by(safety_test, case when safety_test is not null then row_no end) as safety_test,
        min_by(charge_minor, case when charge_minor is not null then row_no end) as charge_minor,
        min_by(callout_charge_minor, case when callout_charge_minor is not null then row_no end) as callout_charge_minor,
        min_by(labour_charge_minor, case when labour_charge_minor is not null then row_no end) as labour_charge_minor,
        min_by(part_charge_minor, case when part_charge_minor is not null then row_no end) as part_charge_minor,
        min_by(currency, case when currency is not null then row_no end) as currency,
    from used
    group by job_no, visit_ref
)

select * from heads
