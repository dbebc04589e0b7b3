-- One row per usable row of a file that completes the visits of another: the visit it completes, or why there is none.
-- By its number, or where it has none by address and day. Of several visits of one job the one on the row's day is
-- meant, else the last before it, else the last.
with
-- The jobs that a row may mean: of a number there is one; at an address those with a visit on that day, or reported on it.
by_number as (
    select
        completing.row_no,
        coalesce(joined.job_no, numbered.given_no) as job_no,
        numbered.count_jobs,
    from tables.completing_lines as completing
    join tables.completing_numbers as numbered on numbered.row_no = completing.row_no
    left join tables.joined_jobs as joined on joined.given_no = numbered.given_no
),

by_address as (
    select
        completing.row_no,
        visits.job_no,
        visits.visit_ref,
        case when visits.unit_type = completing.unit_type then 1 else 0 end as is_of_type,
    from tables.completing_lines as completing
    join tables.completed_visits as visits
        on visits.layout = completing.layout
        and visits.site_id = completing.site_id
        and case completing.completes_by
            when 'reported_at' then visits.reported_on = completing.reported_on
            else coalesce(visits.started_on = completing.day_on, false) or coalesce(visits.visit_on = completing.day_on, false)
        end
    where completing.completes_by <> 'job_id' or completing.job_id is null
),

-- Where a row names the kind of machine, it may tell two visits apart.
of_type as (
    select *, max(is_of_type) over (partition by row_no) as is_one_of_type
    from by_address
),

addressed as (
    select
        row_no,
        min(job_no) as job_no,
        min(visit_ref) as visit_ref,
        count(distinct job_no) as count_jobs,
        count(*) as count_visits,
    from of_type
    where is_of_type = is_one_of_type
    group by row_no
),

meant as (
    select
        completing.*,
        coalesce(by_number.job_no, addressed.job_no) as job_no,
        case
            when completing.completes_by = 'job_id' and completing.job_id is not null then 'job_id'
            else 'site_id'
        end as matched_by,
        coalesce(by_number.count_jobs, addressed.count_jobs, 0) as count_jobs,
        -- A job reported on that day may have several visits; the day of a visit may not.
        case when completing.completes_by <> 'reported_at' then coalesce(addressed.count_visits, 0) else 0 end as count_visits,
    from tables.completing_lines as completing
    left join by_number on by_number.row_no = completing.row_no
    left join addressed on addressed.row_no = completing.row_no
),

candidates as (
    select
        meant.row_no,
        visits.job_no,
        visits.visit_ref,
        visits.visit_on,
        visits.started_on,
        visits.finished_on,
        meant.day_on,
        row_number() over (
            partition by meant.row_no
            order by
                case
                    when visits.visit_on = meant.day_on or visits.started_on = meant.day_on then 0
                    when visits.visit_on < meant.day_on then 1
                    else 2
                end,
                visits.visit_on desc nulls last,
                visits.visit_ref desc
        ) as place,
    from meant
    join tables.completed_visits as visits on visits.layout = meant.layout and visits.job_no = meant.job_no
    where meant.count_jobs = 1 and meant.count_visits <= 1
)

select
    meant.row_no,
    candidates.job_no,
    candidates.visit_ref,
    -- The day of a row is the day of its visit only where nothing else is known.
    candidates.started_on is null and coalesce(candidates.visit_on = meant.day_on, true) as may_say_start,
    candidates.finished_on is null and coalesce(candidates.visit_on = meant.day_on, true) as may_say_end,
    case when candidates.row_no is null then meant.matched_by end as column_name,
    case
        when candidates.row_no is not null then null
        when meant.matched_by = 'job_id' and meant.count_jobs > 1 then 'several jobs of ' || meant.layout || ' have this number'
        when meant.matched_by = 'job_id' then 'no visit of ' || meant.layout || ' has this number'
        when meant.completes_by = 'reported_at' and meant.count_jobs > 1 then 'two jobs reported that day at that address'
        when meant.count_visits > 1 or meant.count_jobs > 1 then 'two visits that day at that address'
        else 'no visit of ' || meant.layout || ' that day at that address'
    end as reason,
from meant
left join candidates on candidates.row_no = meant.row_no and candidates.place = 1
