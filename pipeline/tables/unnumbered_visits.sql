-- One row per used line of a numbered job without a visit number, with the start of the visit that it belongs to.
-- A line without any mark of its visit belongs to the visit of the lines around it; a line that has the day only, to
-- the first visit that started on that day.
with
unnumbered as (
    select lines.row_no, lines.job_no, lines.started_at, lines.finished_on, lines.booked_for_on
    from tables.given_lines as lines
    join normalise.files as files on files.file_no = lines.file_no and files.has_job_id
    where lines.visit_ref is null
),

several as (
    select job_no
    from unnumbered
    group by job_no
    having count(*) > 1
),

dated as (
    select
        row_no,
        job_no,
        coalesce(
            cast(started_at as varchar),
            cast(min(started_at) over (partition by job_no, coalesce(finished_on, booked_for_on)) as varchar),
            cast(coalesce(finished_on, booked_for_on) as varchar)
        ) as visit_start,
    from unnumbered
    where job_no in (select job_no from several)
),

filled as (
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
    from dated
),

-- Most jobs have one line: nothing stands around it.
alone as (
    select
        row_no,
        coalesce(cast(started_at as varchar), cast(coalesce(finished_on, booked_for_on) as varchar), '') as visit_start,
    from unnumbered
    where not exists (select 1 from several where several.job_no = unnumbered.job_no)
)

select * from filled
union all
select * from alone
