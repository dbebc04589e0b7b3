-- One row per visit that the newest file covering its days leaves out: it is kept, and listed.
-- Only files of one layout that share a job are held against each other. A file covers the days between its first and
-- last report and between its first and last visit.
with
shared as (
    select distinct rows_of.job_no, lines.file_no
    from tables.shared_rows as rows_of
    join normalise.lines as lines on lines.row_no = rows_of.row_no
),

pairs as (
    select distinct earlier.file_no as earlier_no, later.file_no as later_no, later_files.file_order
    from shared as earlier
    join shared as later on later.job_no = earlier.job_no
    join normalise.files as earlier_files on earlier_files.file_no = earlier.file_no
    join normalise.files as later_files
        on later_files.file_no = later.file_no and later_files.layout = earlier_files.layout
    where later_files.file_order > earlier_files.file_order
),

compared as (
    select earlier_no as file_no from pairs
    union
    select later_no from pairs
),

visits as (
    select
        lines.file_no,
        lines.source,
        case when joined.visit_ref is not null then joined.job_no else lines.job_no end as job_no,
        coalesce(joined.visit_ref, lines.visit_ref, '') as visit_ref,
        coalesce(lines.started_on, lines.finished_on, lines.booked_for_on, lines.reported_on) as visit_on,
        min(coalesce(lines.reported_on, lines.started_on, lines.finished_on, lines.booked_for_on)) as reported_on,
        min(lines.row_no) as first_row_no,
    from normalise.lines as lines
    join compared on compared.file_no = lines.file_no
    left join tables.joined_jobs as joined on joined.given_no = lines.job_no
    where lines.problem_reason is null
    group by
        lines.file_no,
        lines.source,
        case when joined.visit_ref is not null then joined.job_no else lines.job_no end,
        coalesce(joined.visit_ref, lines.visit_ref, ''),
        coalesce(lines.started_on, lines.finished_on, lines.booked_for_on, lines.reported_on)
),

spans as (
    select
        file_no,
        source,
        min(visit_on) as first_visit_on,
        max(visit_on) as last_visit_on,
        min(reported_on) as first_report_on,
        max(reported_on) as last_report_on,
    from visits
    group by file_no, source
),

covered as (
    select
        visits.file_no,
        visits.job_no,
        visits.visit_ref,
        visits.visit_on,
        visits.first_row_no,
        max_by(pairs.later_no, pairs.file_order) as missing_from_no,
    from visits
    join pairs on pairs.earlier_no = visits.file_no
    join spans on spans.file_no = pairs.later_no and spans.source = visits.source
    where visits.visit_on >= spans.first_visit_on
        and visits.visit_on <= spans.last_visit_on
        and visits.reported_on >= spans.first_report_on
        and visits.reported_on <= spans.last_report_on
    group by visits.file_no, visits.job_no, visits.visit_ref, visits.visit_on, visits.first_row_no
),

-- A later file may number a visit, or date it, in another way: either is enough to know it again.
left_out as (
    select covered.*
    from covered
    left join (select distinct file_no, job_no, visit_ref from visits where visit_ref <> '') as numbered
        on numbered.file_no = covered.missing_from_no
        and numbered.job_no = covered.job_no
        and numbered.visit_ref = covered.visit_ref
    left join (select distinct file_no, job_no, visit_on from visits) as dated
        on dated.file_no = covered.missing_from_no
        and dated.job_no = covered.job_no
        and dated.visit_on = covered.visit_on
    where numbered.job_no is null and dated.job_no is null
)

select
    left_out.file_no,
    lines.record,
    coalesce(joined.job_no, left_out.job_no) as job_no,
    lines.job_id,
    left_out.visit_on,
    left_out.missing_from_no,
from left_out
join normalise.lines as lines on lines.row_no = left_out.first_row_no
left join tables.joined_jobs as joined on joined.given_no = left_out.job_no
left join tables.unused_rows as unused on unused.row_no = left_out.first_row_no
where unused.row_no is null
