-- One row per file, rung of machine identity and rule that made the job: how many jobs.
-- A job is counted in the file whose row stands first in it.
select
    lines.file_no,
    machines.machine_rung,
    rules.joined_by,
    count(*) as count_jobs,
from tables.job_heads as heads
join normalise.lines as lines on lines.row_no = heads.first_row_no
join tables.job_machines as machines on machines.job_no = heads.job_no
join tables.job_rules as rules on rules.job_no = heads.job_no
group by lines.file_no, machines.machine_rung, rules.joined_by
