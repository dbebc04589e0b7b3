-- One row per visit in vain: nobody was in, or somebody set out and was turned away at the door.
-- A call cancelled by telephone is none: it has neither a start nor minutes.
select
    visit_key,
    job_no,
    coalesce(started_on, finished_on, booked_for_on) as visit_on,
    coalesce(hands_on_min, 0) + coalesce(travel_min, 0) as minutes,
from tables.visits
where outcome = 'no access'
    or (outcome = 'cancelled' and (started_at is not null or travel_min > 0 or hands_on_min > 0))
