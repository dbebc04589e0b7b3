-- One row per job and part it worked on whose way of failing was recorded: the first one written.
select
    job_no,
    part_key,
    min_by(mechanism, line_no) as mechanism,
from tables.lines
where is_worked_part and mechanism is not null
group by job_no, part_key
