-- One row per file, column and oddity: how many usable lines show it. They are used all the same.
with
used as (
    select
        file_no, odd_hour_column, odd_hour, reported_on, started_on, finished_on, hands_on_min, visit_no, made_on,
        installed_on, age_years, quantity, visit_ref,
    from normalise.lines
    where problem_reason is null
),

counts as (
    select
        file_no,
        count(*) filter (where started_on < reported_on) as count_started_early,
        count(*) filter (where finished_on < started_on) as count_finished_early,
        count(*) filter (where hands_on_min > 480) as count_long_visits,
        count(*) filter (where visit_no is null and visit_ref is not null) as count_unnumbered,
        count(*) filter (where installed_on < made_on) as count_installed_unmade,
        count(*) filter (where installed_on > reported_on) as count_installed_late,
        count(*) filter (where age_years > 100) as count_very_old,
        count(*) filter (where quantity <= 0) as count_nothing_used,
    from used
    group by file_no
),

hours as (
    select file_no, odd_hour_column, odd_hour, count(*) as count_lines
    from used
    where odd_hour is not null
    group by file_no, odd_hour_column, odd_hour
),

-- A return must name another job of the same source.
strange_returns as (
    select lines.file_no, count(*) as count_lines
    from normalise.lines as lines
    left join normalise.job_numbers as numbers
        on numbers.source = lines.source
        and numbers.job_id = lines.return_of
        and numbers.job_no <> lines.job_no
    where lines.problem_reason is null
        and lines.job_no is not null
        and lines.return_of is not null
        and numbers.job_no is null
    group by lines.file_no
),

listed as (
    select
        file_no, 'started_at' as column_name, 'started before reported' as oddity,
        count_started_early as count_lines,
    from counts
    union all
    select file_no, 'finished_at', 'finished before started', count_finished_early from counts
    union all
    select file_no, 'hands_on_min', 'more than eight hours at one machine', count_long_visits from counts
    union all
    select file_no, 'visit_no', 'no number', count_unnumbered from counts
    union all
    select file_no, 'installed_on', 'installed before it was made', count_installed_unmade from counts
    union all
    select file_no, 'installed_on', 'installed after the report', count_installed_late from counts
    union all
    select file_no, 'age_years', 'older than a hundred years', count_very_old from counts
    union all
    select file_no, 'quantity', 'nothing or less', count_nothing_used from counts
    union all
    select file_no, 'return_of', 'names no other job', count_lines from strange_returns
    union all
    select * from hours
)

select * from listed
where count_lines > 0
