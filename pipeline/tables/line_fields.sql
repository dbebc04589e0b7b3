-- One row per file and month: its used lines, and how many of them carry each field.
-- Not every line has a part: those that say what was done to one are counted beside all.
select
    used.file_no,
    cast(date_trunc('month', coalesce(used.finished_on, used.started_on, used.reported_on)) as date) as month_on,
    count(*) as count_lines,
    count(
        case when used.action in ('clean', 'free', 'adjust', 'repair', 'reset', 'reseat', 'replace') then 1 end
    ) as count_works,
    count(
        case
            when used.action in ('clean', 'free', 'adjust', 'repair', 'reset', 'reseat', 'replace')
                then coalesce(used.part_no, used.part_name)
        end
    ) as part_no,
    count(used."check") as "check",
    count(used.check_result) as check_result,
    count(used.reading) as reading,
    count(used.check_min) as check_min,
    count(used.finding) as finding,
    count(used.mechanism) as mechanism,
    count(used.cause) as cause,
    count(used.part_name) as part_name,
    count(used.part_status) as part_status,
    count(used.part_source) as part_source,
    count(used.quantity) as quantity,
    count(used.part_cost_minor) as part_cost,
    count(used.action) as action,
from tables.used_lines as used
group by used.file_no, cast(date_trunc('month', coalesce(used.finished_on, used.started_on, used.reported_on)) as date)
