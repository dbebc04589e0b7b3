-- One row per file and month of the visit: its visits, and how many of them carry each field.
-- A visit is counted in the file whose row stands first in it.
select
    lines.file_no,
    cast(date_trunc('month', coalesce(heads.finished_on, heads.started_on, lines.reported_on)) as date) as month_on,
    count(*) as count_visits,
    count(heads.booked_for_on) as booked_for,
    count(heads.started_on) as started_at,
    count(heads.finished_on) as finished_at,
    count(heads.hands_on_min) as hands_on_min,
    count(heads.travel_min) as travel_min,
    count(heads.technician) as technician,
    count(heads.charge_minor) as charge,
    count(heads.callout_charge_minor) as callout_charge,
    count(heads.labour_charge_minor) as labour_charge,
    count(heads.part_charge_minor) as part_charge,
    count(heads.payer) as payer,
    count(heads.outcome) as outcome,
    count(heads.second_visit_reason) as second_visit_reason,
    count(heads.installation_looked_at) as installation_looked_at,
    count(heads.advised_not_done) as advised_not_done,
    count(heads.test_run) as test_run,
    count(heads.leak_check) as leak_check,
    count(heads.safety_test) as safety_test,
from tables.visit_heads as heads
join normalise.lines as lines on lines.row_no = heads.first_row_no
group by lines.file_no, cast(date_trunc('month', coalesce(heads.finished_on, heads.started_on, lines.reported_on)) as date)
