-- One row per file that came after another file of its source: its new jobs, and those that were written down late.
-- Late: reported at least a day before the last report that an earlier load held, and yet in none of them. That tells
-- the least that the entry lagged behind the report; of a first file nothing can be told.
with
firsts as (
    select
        job_no,
        source,
        min(load_no) as load_no,
        min(file_no) as file_no,
        min(reported_on) as reported_on,
    from normalise.lines
    where problem_reason is null
        and job_no is not null
        and source in (
            select source from normalise.lines group by source having min(load_no) < max(load_no)
        )
    group by job_no, source
),

reports as (
    select source, load_no, max(reported_on) as last_report_on
    from normalise.lines
    where problem_reason is null
    group by source, load_no
),

known as (
    select
        source,
        load_no,
        max(last_report_on) over (
            partition by source
            order by load_no
            rows between unbounded preceding and 1 preceding
        ) as known_to_on,
    from reports
)

select
    firsts.file_no,
    count(*) as count_jobs,
    count(case when firsts.reported_on < known.known_to_on then 1 end) as count_late,
    avg(
        case
            when firsts.reported_on < known.known_to_on
                then date_diff('day', firsts.reported_on, known.known_to_on)
        end
    ) as mean_days,
    max(
        case
            when firsts.reported_on < known.known_to_on
                then date_diff('day', firsts.reported_on, known.known_to_on)
        end
    ) as longest_days,
from firsts
join known on known.source = firsts.source and known.load_no = firsts.load_no
where known.known_to_on is not null
group by firsts.file_no
