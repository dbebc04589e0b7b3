-- One row per file and month of the report: its jobs, and how many of them carry each field.
-- A job is counted in the file whose row stands first in it.
select
    lines.file_no,
    cast(date_trunc('month', heads.reported_on) as date) as month_on,
    count(*) as count_jobs,
    count(heads.job_kind) as job_kind,
    count(heads.return_of) as return_of,
    count(heads.return_reason) as return_reason,
    count(heads.unit_id) as unit_id,
    count(nullif(heads.unit_type, 'kind unknown')) as unit_type,
    count(heads.make) as make,
    count(heads.model) as model,
    count(heads.serial) as serial,
    count(heads.made_on) as made_on,
    count(heads.installed_on) as installed_on,
    count(heads.age_years) as age_years,
    count(heads.fitting) as fitting,
    count(heads.site_id) as site_id,
    count(heads.site_kind) as site_kind,
    count(heads.area) as postcode,
    count(heads.reported_on) as reported_at,
    count(heads.symptom) as symptom,
    count(heads.fault_code) as fault_code,
from tables.job_heads as heads
join normalise.lines as lines on lines.row_no = heads.first_row_no
group by lines.file_no, cast(date_trunc('month', heads.reported_on) as date)
