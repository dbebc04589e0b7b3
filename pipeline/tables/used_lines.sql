-- One row per used line of the log, with the visit of its job that it belongs to.
-- visit_ref tells the visits of a job apart: by number, where there is none by start.
with
used as (
    select lines.*
    from normalise.lines as lines
    left join tables.unused_rows as unused on unused.row_no = lines.row_no
    where unused.row_no is null
),

-- A line without any mark of its visit belongs to the visit of the lines around it; a line that has the day only, to
-- the first visit that started on that day.
unmarked as (
    select
        row_no,
        coalesce(
            cast(started_at as varchar),
            cast(min(started_at) over (partition by job_no, coalesce(finished_on, booked_for_on)) as varchar),
            cast(coalesce(finished_on, booked_for_on) as varchar)
        ) as visit_start,
        job_no,
    from used
    where visit_ref is null
),

marked as (
    select
        row_no,
        coalesce(
            visit_start,
            last_value(visit_start ignore nulls) over (
                partition by job_no order by row_no rows between unbounded preceding and current row
            ),
            min(visit_start) over (partition by job_no),
            ''
        ) as visit_start,
    from unmarked
)

select
    used.* exclude (visit_ref),
    coalesce(used.visit_ref, marked.visit_start) as visit_ref,
from used
left join marked on marked.row_no = used.row_no
