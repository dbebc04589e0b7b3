-- One row per job: the number of its machine, null where it is not known, and the rung of the ladder that says so.
select
    keys.job_no,
    numbers.machine_no,
    keys.rung as machine_rung,
from tables.job_keys as keys
left join tables.machine_numbers as numbers on numbers.machine_key = keys.machine_key
