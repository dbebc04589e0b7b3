-- One row per line of a check whose minutes were recorded: the machine's kind, the part the line names, the check's words.
select
    lines.job_no,
    jobs.unit_type,
    jobs.finished_on,
    lines.part_key,
    lines."check",
    lines.check_min,
from tables.lines as lines
join tables.jobs as jobs on jobs.job_no = lines.job_no
where lines.check_min > 0 and (lines.part_key is not null or lines."check" is not null)
