-- One row per job joined from several as given, with what they say about the job and its machine.
-- The first in order that says something is kept; the number is that of the first.
select
    joined.job_no,
    min(heads.first_row_no) as first_row_no,
    min_by(heads.symptom, case when heads.symptom is not null then joined.place end) as symptom,
    min_by(heads.fault_code, case when heads.fault_code is not null then joined.place end) as fault_code,
    min(heads.first_day_on) as first_day_on,
    max(heads.last_day_on) as last_day_on,
    min(heads.source) as source,
    min_by(heads.job_id, joined.place) as job_id,
    min_by(heads.job_kind, case when heads.job_kind is not null then joined.place end) as job_kind,
    min_by(heads.return_of, case when heads.return_of is not null then joined.place end) as return_of,
    min_by(heads.return_reason, case when heads.return_reason is not null then joined.place end) as return_reason,
    min_by(heads.unit_id, case when heads.unit_id is not null then joined.place end) as unit_id,
    min_by(heads.unit_type, case when heads.unit_type is not null then joined.place end) as unit_type,
    min_by(heads.make, case when heads.make is not null then joined.place end) as make,
    min_by(heads.model, case when heads.model is not null then joined.place end) as model,
    min_by(heads.serial, case when heads.serial is not null then joined.place end) as serial,
    min_by(heads.made_on, case when heads.made_on is not null then joined.place end) as made_on,
    min_by(heads.installed_on, case when heads.installed_on is not null then joined.place end) as installed_on,
    min_by(heads.age_years, case when heads.age_years is not null then joined.place end) as age_years,
    min_by(heads.fitting, case when heads.fitting is not null then joined.place end) as fitting,
    min_by(heads.site_id, case when heads.site_id is not null then joined.place end) as site_id,
    min_by(heads.site_kind, case when heads.site_kind is not null then joined.place end) as site_kind,
    min_by(heads.area, case when heads.area is not null then joined.place end) as area,
    min_by(heads.reported_at, case when heads.reported_at is not null then joined.place end) as reported_at,
    min_by(heads.reported_on, case when heads.reported_on is not null then joined.place end) as reported_on,
from tables.joined_jobs as joined
join tables.given_heads as heads on heads.job_no = joined.given_no
group by joined.job_no
