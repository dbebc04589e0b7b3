-- One row per visit, with what its lines say about it: the first value written is kept.
-- Kept as a view.
-- Most jobs have one line, which says all of their visit. Where all lines of a visit say the same, the first speaks for them;
-- only other visits are read value by value.
with
several as (
    select job_no
    from tables.used_lines
    group by job_no
    having count(*) > 1
),

single as (
    select
        used.job_no,
        used.visit_ref,
        used.row_no as first_row_no,
        used.visit_no as number_given,
        used.booked_for_at,
        used.booked_for_on,
        used.started_at,
        used.started_on,
        used.finished_at,
        used.finished_on,
        used.hands_on_min,
        used.travel_min,
        used.technician,
        used.payer,
        used.outcome,
        used.second_visit_reason,
        used.advised_not_done,
        used.installation_looked_at,
        used.test_run,
        used.leak_check,
        used.safety_test,
        used.charge_minor,
        used.callout_charge_minor,
        used.labour_charge_minor,
        used.part_charge_minor,
        used.currency,
    from tables.used_lines as used
    where not exists (select 1 from several where several.job_no = used.job_no)
),

groups as (
    select
        job_no,
        visit_ref,
        min(row_no) as first_row_no,
        min(visit_mark) = max(visit_mark) as is_agreed,
    from tables.used_lines
    where job_no in (select job_no from several)
    group by job_no, visit_ref
),

agreed as (
    select
        groups.job_no,
        groups.visit_ref,
        groups.first_row_no,
        used.visit_no as number_given,
        used.booked_for_at,
        used.booked_for_on,
        used.started_at,
        used.started_on,
        used.finished_at,
        used.finished_on,
        used.hands_on_min,
        used.travel_min,
        used.technician,
        used.payer,
        used.outcome,
        used.second_visit_reason,
        used.advised_not_done,
        used.installation_looked_at,
        used.test_run,
        used.leak_check,
        used.safety_test,
        used.charge_minor,
        used.callout_charge_minor,
        used.labour_charge_minor,
        used.part_charge_minor,
        used.currency,
    from groups
    join normalise.lines as used on used.row_no = groups.first_row_no
    where groups.is_agreed
),

patchy as (
    select
        used.job_no,
        used.visit_ref,
        min(used.row_no) as first_row_no,
        min(used.visit_no) as number_given,
        min_by(used.booked_for_at, case when used.booked_for_at is not null then used.row_no end) as booked_for_at,
        min_by(used.booked_for_on, case when used.booked_for_on is not null then used.row_no end) as booked_for_on,
        min_by(used.started_at, case when used.started_at is not null then used.row_no end) as started_at,
        min_by(used.started_on, case when used.started_on is not null then used.row_no end) as started_on,
        min_by(used.finished_at, case when used.finished_at is not null then used.row_no end) as finished_at,
        min_by(used.finished_on, case when used.finished_on is not null then used.row_no end) as finished_on,
        min_by(used.hands_on_min, case when used.hands_on_min is not null then used.row_no end) as hands_on_min,
        min_by(used.travel_min, case when used.travel_min is not null then used.row_no end) as travel_min,
        min_by(used.technician, case when used.technician is not null then used.row_no end) as technician,
        min_by(used.payer, case when used.payer is not null then used.row_no end) as payer,
        min_by(used.outcome, case when used.outcome is not null then used.row_no end) as outcome,
        min_by(used.second_visit_reason, case when used.second_visit_reason is not null then used.row_no end) as second_visit_reason,
        min_by(used.advised_not_done, case when used.advised_not_done is not null then used.row_no end) as advised_not_done,
        min_by(used.installation_looked_at, case when used.installation_looked_at is not null then used.row_no end) as installation_looked_at,
        min_by(used.test_run, case when used.test_run is not null then used.row_no end) as test_run,
        min_by(used.leak_check, case when used.leak_check is not null then used.row_no end) as leak_check,
        min_by(used.safety_test, case when used.safety_test is not null then used.row_no end) as safety_test,
        min_by(used.charge_minor, case when used.charge_minor is not null then used.row_no end) as charge_minor,
        min_by(used.callout_charge_minor, case when used.callout_charge_minor is not null then used.row_no end) as callout_charge_minor,
        min_by(used.labour_charge_minor, case when used.labour_charge_minor is not null then used.row_no end) as labour_charge_minor,
        min_by(used.part_charge_minor, case when used.part_charge_minor is not null then used.row_no end) as part_charge_minor,
        min_by(used.currency, case when used.currency is not null then used.row_no end) as currency,
    from tables.used_lines as used
    join groups on groups.job_no = used.job_no and groups.visit_ref = used.visit_ref
    where not groups.is_agreed
    group by used.job_no, used.visit_ref
)

select * from single
union all
select * from agreed
union all
select * from patchy
