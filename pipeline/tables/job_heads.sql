-- One row per job, with what its lines say about the job and its machine: the first value written is kept.
with
used as (select * from tables.used_lines),

heads as (
    select
        job_no,
        min(row_no) as first_row_no,
        min(source) as source,
        min(job_id) as job_id,
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
        min_by(symptom, case when symptom is not null then row_no end) as symptom,
        min_by(fault_code, case when fault_code is not null then row_no end) as fault_code,
        min(least(reported_on, started_on, finished_on)) as first_day_on,
        max(greatest(reported_on, started_on, finished_on)) as last_day_on,
    from used
    group by job_no
)

select * from heads
