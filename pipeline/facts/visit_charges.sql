-- One row per visit: what was charged for it. A zero is a charge; where nothing is written there is none to read.
select
    visit_key,
    job_no,
    case
        when charge_minor is not null then charge_minor
        when coalesce(callout_charge_minor, labour_charge_minor, part_charge_minor) is not null
            then coalesce(callout_charge_minor, 0) + coalesce(labour_charge_minor, 0) + coalesce(part_charge_minor, 0)
    end as charged_minor,
from tables.visits
