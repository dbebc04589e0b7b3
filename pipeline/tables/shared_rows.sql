-- One row per usable received row of a job that more than one file holds, with the visit and the version it belongs to.
-- A file replaces the visits it holds. A version is what one file says about one visit; a visit cut in two by the end
-- of a file is one version.
with
shared_jobs as (
    select job_no
    from normalise.lines
    where problem_reason is null and job_no is not null
    group by job_no
    having min(file_no) <> max(file_no)
),

usable as (
    select lines.*
    from normalise.lines as lines
    join shared_jobs on shared_jobs.job_no = lines.job_no
    left join tables.repeated_rows as repeated on repeated.row_no = lines.row_no
    where lines.problem_reason is null and repeated.row_no is null
),

-- A job whose visits are numbered in one file and not in another is compared by the day of the visit.
numbered as (
    select job_no, count(visit_ref) = count(*) as is_numbered
    from usable
    group by job_no
),

visits as (
    select
        usable.row_no,
        usable.row_key,
        usable.row_digest,
        usable.job_no,
        usable.file_no,
        case
            when numbered.is_numbered then usable.visit_ref
            else coalesce(cast(coalesce(usable.started_on, usable.finished_on, usable.booked_for_on) as varchar), '')
        end as visit_label,
    from usable
    join numbered on numbered.job_no = usable.job_no
),

edges as (
    select
        lines.file_no,
        min(lines.row_no) as first_row_no,
        max(lines.row_no) as last_row_no,
    from normalise.lines as lines
    left join tables.repeated_rows as repeated on repeated.row_no = lines.row_no
    where lines.problem_reason is null and lines.job_no is not null and repeated.row_no is null
    group by lines.file_no
),

neighbours as (
    select
        files.file_no,
        files.load_no,
        edges.first_row_no,
        edges.last_row_no,
        lag(files.load_no) over (order by files.file_order) as load_no_before,
        lag(edges.last_row_no) over (order by files.file_order) as last_row_no_before,
    from normalise.files as files
    join edges on edges.file_no = files.file_no
),

-- Files of one load are pieces of one export. Across loads the cut is only believed when what job, machine and visit
-- say agrees and the later file goes on to other visits: else the later file corrects the visit.
continued as (
    select
        neighbours.file_no,
        later.job_no,
        later_visit.visit_label,
    from neighbours
    join normalise.lines as earlier on earlier.row_no = neighbours.last_row_no_before
    join normalise.lines as later on later.row_no = neighbours.first_row_no and later.job_no = earlier.job_no
    join visits as earlier_visit on earlier_visit.row_no = earlier.row_no
    join visits as later_visit
        on later_visit.row_no = later.row_no and later_visit.visit_label = earlier_visit.visit_label
    left join visits as last_visit on last_visit.row_no = neighbours.last_row_no
    where neighbours.load_no = neighbours.load_no_before
        or (
            not coalesce(
                last_visit.job_no = later.job_no and last_visit.visit_label = later_visit.visit_label, false
            )
            and earlier.job_kind is not distinct from later.job_kind
            and earlier.return_of is not distinct from later.return_of
            and earlier.return_reason is not distinct from later.return_reason
            and earlier.unit_id is not distinct from later.unit_id
            and earlier.unit_type is not distinct from later.unit_type
            and earlier.make is not distinct from later.make
            and earlier.model is not distinct from later.model
            and earlier.serial is not distinct from later.serial
            and earlier.site_id is not distinct from later.site_id
            and earlier.site_kind is not distinct from later.site_kind
            and earlier.reported_at is not distinct from later.reported_at
            and earlier.booked_for_at is not distinct from later.booked_for_at
            and earlier.started_at is not distinct from later.started_at
            and earlier.finished_at is not distinct from later.finished_at
            and earlier.hands_on_min is not distinct from later.hands_on_min
            and earlier.travel_min is not distinct from later.travel_min
            and earlier.technician is not distinct from later.technician
            and earlier.charge_minor is not distinct from later.charge_minor
            and earlier.callout_charge_minor is not distinct from later.callout_charge_minor
            and earlier.labour_charge_minor is not distinct from later.labour_charge_minor
            and earlier.part_charge_minor is not distinct from later.part_charge_minor
            and earlier.payer is not distinct from later.payer
            and earlier.outcome is not distinct from later.outcome
            and earlier.second_visit_reason is not distinct from later.second_visit_reason
            and earlier.test_run is not distinct from later.test_run
        )
),

said as (
    select
        visits.job_no,
        visits.visit_label,
        visits.file_no,
        min(files.file_order) as file_order,
        max(case when continued.file_no is not null then 1 else 0 end) as is_continued,
    from visits
    join normalise.files as files on files.file_no = visits.file_no
    left join continued
        on continued.file_no = visits.file_no
        and continued.job_no = visits.job_no
        and continued.visit_label = visits.visit_label
    group by visits.job_no, visits.visit_label, visits.file_no
),

versions as (
    select
        job_no,
        visit_label,
        file_no,
        sum(1 - is_continued) over (
            partition by job_no, visit_label
            order by file_order
            rows between unbounded preceding and current row
        ) as version_no,
    from said
),

placed as (
    select
        visits.row_no,
        visits.row_key,
        visits.job_no,
        visits.visit_label,
        versions.version_no,
        files.lines_may_repeat,
        row_number() over (
            partition by visits.job_no, visits.visit_label, versions.version_no, visits.row_digest
            order by visits.row_no
        ) as copy_no,
    from visits
    join versions
        on versions.job_no = visits.job_no
        and versions.visit_label = visits.visit_label
        and versions.file_no = visits.file_no
    join normalise.files as files on files.file_no = visits.file_no
)

select
    row_no,
    row_key,
    job_no,
    visit_label,
    version_no,
    copy_no > 1 and not lines_may_repeat as is_said_again,
from placed
