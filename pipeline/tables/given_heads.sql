-- One row per job as given, before jobs are joined, with what its lines say about the job and its machine: the first
-- value written is kept.
-- Most jobs have one line, which says all of it. Where all lines of a job say the same, the first speaks for them; only other
-- jobs are read value by value.
with
several as (
    select job_no
    from tables.head_lines
    group by job_no
    having count(*) > 1
),

single as (
    select
        lines.job_no,
        lines.row_no as first_row_no,
        lines.symptom,
        lines.fault_code,
        case when lines.is_own then least(lines.reported_on, lines.started_on, lines.finished_on) end as first_day_on,
        case when lines.is_own then greatest(lines.reported_on, lines.started_on, lines.finished_on) end as last_day_on,
        lines.source,
        lines.job_id,
        lines.job_kind,
        lines.return_of,
        lines.return_reason,
        lines.unit_id,
        lines.unit_type,
        lines.make,
        lines.model,
        lines.serial,
        lines.made_on,
        lines.installed_on,
        lines.age_years,
        lines.fitting,
        lines.site_id,
        lines.site_kind,
        lines.area,
        lines.reported_at,
        lines.reported_on,
    from tables.head_lines as lines
    where not exists (select 1 from several where several.job_no = lines.job_no)
),

groups as (
    select
        job_no,
        min(row_no) as first_row_no,
        min(job_mark) = max(job_mark) as is_agreed,
        min_by(symptom, case when symptom is not null then row_no end) as symptom,
        min_by(fault_code, case when fault_code is not null then row_no end) as fault_code,
        min(case when is_own then least(reported_on, started_on, finished_on) end) as first_day_on,
        max(case when is_own then greatest(reported_on, started_on, finished_on) end) as last_day_on,
    from tables.head_lines
    where job_no in (select job_no from several)
    group by job_no
),

agreed as (
    select
        groups.job_no,
        groups.first_row_no,
        groups.symptom,
        groups.fault_code,
        groups.first_day_on,
        groups.last_day_on,
        used.source,
        used.job_id,
        used.job_kind,
        used.return_of,
        used.return_reason,
        used.unit_id,
        used.unit_type,
        used.make,
        used.model,
        used.serial,
        used.made_on,
        used.installed_on,
        used.age_years,
        used.fitting,
        used.site_id,
        used.site_kind,
        used.area,
        used.reported_at,
        used.reported_on,
    from groups
    join normalise.lines as used on used.row_no = groups.first_row_no
    where groups.is_agreed
),

patchy as (
    select
        job_no,
        min_by(source, row_no) as source,
        min_by(job_id, row_no) as job_id,
        min_by(job_kind, case when job_kind is not null then row_no end) as job_kind,
        min_by(return_of, case when return_of is not null then row_no end) as return_of,
        min_by(return_reason, case when return_reason is not null then row_no end) as return_reason,
        min_by(unit_id, case when unit_id is not null then row_no end) as unit_id,
        min_by(unit_type, case when unit_type is not null then row_no end) as unit_type,
        min_by(make, case when make is not null then row_no end) as make,
        min_by(model, case when model is not null then row_no end) as model,
        min_by(serial, case when serial is not null then row_no end) as serial,
        min_by(made_on, case when made_on is not null then row_no end) as made_on,
        min_by(installed_on, case when installed_on is not null then row_no end) as installed_on,
        min_by(age_years, case when age_years is not null then row_no end) as age_years,
        min_by(fitting, case when fitting is not null then row_no end) as fitting,
        min_by(site_id, case when site_id is not null then row_no end) as site_id,
        min_by(site_kind, case when site_kind is not null then row_no end) as site_kind,
        min_by(area, case when area is not null then row_no end) as area,
        min_by(reported_at, case when reported_at is not null then row_no end) as reported_at,
        min_by(reported_on, case when reported_on is not null then row_no end) as reported_on,
    from tables.head_lines
    where job_no in (select job_no from groups where not is_agreed)
    group by job_no
),

mended as (
    select
        groups.job_no,
        groups.first_row_no,
        groups.symptom,
        groups.fault_code,
        groups.first_day_on,
        groups.last_day_on,
        patchy.source,
        patchy.job_id,
        patchy.job_kind,
        patchy.return_of,
        patchy.return_reason,
        patchy.unit_id,
        patchy.unit_type,
        patchy.make,
        patchy.model,
        patchy.serial,
        patchy.made_on,
        patchy.installed_on,
        patchy.age_years,
        patchy.fitting,
        patchy.site_id,
        patchy.site_kind,
        patchy.area,
        patchy.reported_at,
        patchy.reported_on,
    from groups
    join patchy on patchy.job_no = groups.job_no
)

select * from single
union all
select * from agreed
union all
select * from mended
