-- One row per file and month of the visit: its visits, and how many of them carry each field.
-- A visit is counted in the file whose row stands first in it.
select
    lines.file_no,
    cast(date_trunc('month', coalesce(visits.finished_on, visits.started_on, lines.reported_on)) as date) as month_on,
    count(*) as count_visits,
    count(visits.booked_for_on) as booked_for,
    count(visits.started_on) as started_at,
    count(visits.finished_on) as finished_at,
    count(visits.hands_on_min) as hands_on_min,
    count(visits.travel_min) as travel_min,
    count(visits.technician) as technician,
    count(visits.charge_minor) as charge,
    count(visits.callout_charge_minor) as callout_charge,
    count(visits.labour_charge_minor) as labour_charge,
    count(visits.part_charge_minor) as part_charge,
    count(visits.payer) as payer,
    count(visits.outcome) as outcome,
    count(visits.second_visit_reason) as second_visit_reason,
    count(visits.installation_looked_at) as installation_looked_at,
    count(visits.advised_not_done) as advised_not_done,
    count(visits.test_run) as test_run,
    count(visits.leak_check) as leak_check,
    count(visits.safety_test) as safety_test,
from tables.visits as visits
join normalise.lines as lines on lines.row_no = visits.first_row_no
group by lines.file_no, cast(date_trunc('month', coalesce(visits.finished_on, visits.started_on, lines.reported_on)) as date)
