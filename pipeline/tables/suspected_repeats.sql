-- One row per visit that says in all but its job number what a visit of another job says: suspected to be the same visit
-- under a new number, shown, and never merged.
-- Only where machine or site are known. In a log without job numbers: a row that says what a row of an earlier file says,
-- and differs in columns that are not kept.
with
likely as (
    select source, unit_id, serial, site_id, reported_at, first_day_on
    from tables.job_heads
    where unit_id is not null or serial is not null or site_id is not null
    group by source, unit_id, serial, site_id, reported_at, first_day_on
    having count(*) > 1
),

candidates as (
    select heads.job_no
    from likely
    join tables.job_heads as heads
        on heads.source = likely.source
        and heads.first_day_on = likely.first_day_on
        and heads.unit_id is not distinct from likely.unit_id
        and heads.serial is not distinct from likely.serial
        and heads.site_id is not distinct from likely.site_id
        and heads.reported_at is not distinct from likely.reported_at
),

visits as (
    select
        lines.source,
        lines.job_no,
        lines.visit_ref,
        min(lines.row_no) as first_row_no,
        count(*) as count_lines,
        sum(cast(lines.content_mark as decimal(38, 0))) as sum_marks,
    from tables.own_lines as lines
    join candidates on candidates.job_no = lines.job_no
    group by lines.source, lines.job_no, lines.visit_ref
),

unnumbered as (
    select
        lines.source,
        lines.row_no,
        lines.file_no,
        lines.content_mark,
        row_number() over (
            partition by lines.source, lines.file_no, lines.content_mark order by lines.row_no
        ) as copy_no,
    from tables.given_lines as lines
    join normalise.files as files on files.file_no = lines.file_no and not files.has_job_id
    where lines.unit_id is not null or lines.serial is not null or lines.site_id is not null
),

paired as (
    select
        first_row_no as row_no,
        first_value(first_row_no) over same as of_row_no,
        job_no as said_by,
        first_value(job_no) over same as said_first_by,
    from visits
    window same as (partition by source, count_lines, sum_marks order by first_row_no)
    union all
    select
        row_no,
        first_value(row_no) over same,
        file_no,
        first_value(file_no) over same,
    from unnumbered
    window same as (partition by source, content_mark, copy_no order by row_no)
)

select
    lines.file_no,
    lines.record,
    coalesce(joined.job_no, lines.job_no) as job_no,
    lines.job_id,
    coalesce(of_joined.job_no, of_lines.job_no) as of_job_no,
    of_lines.job_id as of_job_id,
    of_lines.file_no as of_file_no,
    of_lines.record as of_record,
from paired
join normalise.lines as lines on lines.row_no = paired.row_no
join normalise.lines as of_lines on of_lines.row_no = paired.of_row_no
left join tables.joined_jobs as joined on joined.given_no = lines.job_no
left join tables.joined_jobs as of_joined on of_joined.given_no = of_lines.job_no
where paired.said_by <> paired.said_first_by
