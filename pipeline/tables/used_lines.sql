-- One row per used line of the log, with its job and the visit of the job that it belongs to.
-- Kept as a view.
-- Lines of files that complete the visits of others come with the visit they complete. Their days say which visit that
-- is; they are moments of the visit only where nothing else says when it was.
select
    lines.* exclude (
        reported_at, reported_on, booked_for_at, booked_for_on, started_at, started_on, finished_at, finished_on
    ),
    lines.reported_at,
    lines.reported_on,
    lines.booked_for_at,
    lines.booked_for_on,
    lines.started_at,
    lines.started_on,
    lines.finished_at,
    lines.finished_on,
from tables.own_lines as lines
union all
select
    lines.* exclude (
        job_no, visit_ref,
        reported_at, reported_on, booked_for_at, booked_for_on, started_at, started_on, finished_at, finished_on
    ),
    completing.job_no,
    completing.visit_ref,
    null as reported_at,
    null as reported_on,
    null as booked_for_at,
    null as booked_for_on,
    case when completing.may_say_start then lines.started_at end as started_at,
    case when completing.may_say_start then lines.started_on end as started_on,
    case when completing.may_say_end then lines.finished_at end as finished_at,
    case when completing.may_say_end then lines.finished_on end as finished_on,
from tables.completing_rows as completing
join normalise.lines as lines on lines.row_no = completing.row_no
where completing.reason is null
