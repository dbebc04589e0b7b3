-- One row per visit that rows of another file may complete, with what tells it from others.
select
    lines.job_no,
    lines.visit_ref,
    files.layout,
    min(heads.site_id) as site_id,
    min(heads.unit_type) as unit_type,
    min(heads.reported_on) as reported_on,
    min(coalesce(lines.finished_on, lines.started_on, lines.booked_for_on)) as visit_on,
    min(lines.started_on) as started_on,
    min(lines.finished_on) as finished_on,
from tables.own_lines as lines
join normalise.files as files on files.file_no = lines.file_no
join tables.job_heads as heads on heads.job_no = lines.job_no
where files.layout in (select layout from tables.completing_lines)
group by lines.job_no, lines.visit_ref, files.layout
