-- One row per log: its first day, and the days up to which its reports and its closed jobs are complete.
-- An isolated last date, more than 90 days after the report before it, does not set the window. Closed jobs are
-- complete to as many days before the last report as 95 % of them took to close.
with
jobs as (select * from tables.jobs),

first_day as (select min(first_day_on) as first_on from tables.job_heads),

report_days as (
    select reported_on, lag(reported_on) over (order by reported_on) as day_before
    from (select distinct reported_on from jobs where reported_on is not null) as days
),

last_day as (
    select
        max(reported_on) as last_on,
        max_by(day_before, reported_on) as day_before,
    from report_days
),

closing as (
    select date_diff('day', reported_on, finished_on) as days, count(*) as count_jobs
    from jobs
    where reported_on is not null and finished_on is not null
    group by 1
),

shares as (
    select
        days,
        sum(count_jobs) over (order by days rows between unbounded preceding and current row) as count_so_far,
        sum(count_jobs) over () as count_all,
    from closing
),

closing_lag as (
    select coalesce(min(days), 0) as lag_days
    from shares
    where count_so_far * 100 >= count_all * 95
),

ends as (
    select
        first_day.first_on,
        case
            when date_diff('day', last_day.day_before, last_day.last_on) > 90 then last_day.day_before
            else last_day.last_on
        end as last_report_on,
        cast(closing_lag.lag_days as integer) as lag_days,
    from first_day
    cross join last_day
    cross join closing_lag
)

select
    first_on,
    last_report_on,
    last_report_on + 1 as reports_complete_to,
    last_report_on + (1 - lag_days) as closed_complete_to,
    lag_days,
from ends
