-- One row per job of any kind and part it needed from our stock: pieces, at the part's current number.
-- Needed: fitted as new, ordered, or needed and not on the van. Not: taken out again, returned, found faulty (the piece
-- that took its place says so), the customer's own, or a used one. A piece is fitted where a part was replaced, or where
-- something with a price was fitted; cleaning takes none. A job that the customer declined, that was not worth it, or that
-- went to somebody else needed no more than was fitted. Was there: all pieces were fitted at the first attended visit.
with
wanted as (
    select
        lines.job_no,
        lines.visit_no,
        coalesce(current_parts.current_key, lines.part_key) as part_key,
        coalesce(lines.part_status, 'fitted') as part_status,
        case when lines.quantity > 0 then ceil(lines.quantity) else 1 end as pieces,
    from tables.lines as lines
    left join tables.current_parts as current_parts on current_parts.part_key = lines.part_key
    where lines.part_key is not null
        and coalesce(lines.part_source, '') not in ('customer-supplied', 'used')
        and (
            lines.part_status in ('needed not on van', 'ordered')
            or (
                coalesce(lines.part_status, 'fitted') = 'fitted'
                and coalesce(lines.quantity, 1) > 0
                and (
                    lines.action = 'replace'
                    or lines.part_cost_minor > 0
                    or (lines.part_status = 'fitted' and coalesce(lines.action, 'none') = 'none')
                )
            )
        )
),

-- Needed and then ordered on one visit is one need.
by_visit as (
    select
        job_no,
        visit_no,
        part_key,
        sum(case when part_status = 'fitted' then pieces else 0 end) as pieces_fitted,
        greatest(
            sum(case when part_status = 'ordered' then pieces else 0 end),
            sum(case when part_status = 'needed not on van' then pieces else 0 end)
        ) as pieces_asked,
    from wanted
    group by job_no, visit_no, part_key
),

dated as (
    select
        by_visit.*,
        jobs.first_attended_no,
        jobs.is_fault,
        jobs.job_kind,
        jobs.outcome,
        coalesce(visits.finished_on, visits.started_on, visits.booked_for_on, jobs.reported_on) as visit_on,
    from by_visit
    join tables.jobs as jobs on jobs.job_no = by_visit.job_no
    left join tables.visits as visits
        on visits.job_no = by_visit.job_no and visits.visit_no = by_visit.visit_no
),

by_job as (
    select
        job_no,
        part_key,
        max(is_fault) as is_fault,
        max(job_kind) as job_kind,
        max(outcome) as outcome,
        sum(pieces_fitted) as pieces_fitted,
        max(pieces_asked) as pieces_asked,
        sum(case when visit_no = first_attended_no then pieces_fitted else 0 end) as pieces_first,
        min(visit_on) as needed_on,
        min(case when pieces_asked > 0 then visit_on end) as asked_on,
        max(case when pieces_fitted > 0 then visit_on end) as fitted_on,
    from dated
    group by job_no, part_key
),

needed as (
    select
        *,
        case
            when coalesce(outcome, '') in ('quote declined', 'beyond economic repair', 'referred') then pieces_fitted
            else greatest(pieces_fitted, pieces_asked)
        end as pieces,
    from by_job
)

select
    job_no,
    part_key,
    is_fault,
    job_kind,
    cast(pieces as bigint) as pieces,
    pieces_first >= pieces as was_there,
    pieces_asked > 0 as was_asked_for,
    needed_on,
    asked_on,
    case when fitted_on >= asked_on then fitted_on end as fitted_on,
from needed
where pieces > 0
