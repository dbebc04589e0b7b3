-- One row per line that says something of a job as given: its own lines, and those of other files with its number.
-- Kept as a view.
select lines.* exclude (job_no), lines.job_no, true as is_own
from tables.given_lines as lines
union all
select lines.* exclude (job_no), numbered.given_no as job_no, false as is_own
from tables.completing_numbers as numbered
join normalise.lines as lines on lines.row_no = numbered.row_no
where numbered.count_jobs = 1
