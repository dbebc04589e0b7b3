-- One row per job and symptom it shows; two jobs are the same fault when they share one.
select distinct
    used.job_no,
    sets.symptom,
from tables.used_lines as used
join normalise.symptom_sets as sets on sets.symptoms = used.symptoms
