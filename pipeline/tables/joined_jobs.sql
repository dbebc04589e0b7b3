-- One row per job as given that is not simply a job of its own number: the job that it belongs to, and the rule.
-- visit_ref is the visit that a row of a log without job numbers is of. place: its order within the job.
select given_no, job_no, visit_ref, joined_by, place
from tables.built_jobs
union all
select given_no, job_no, null, joined_by, place
from tables.suffixed_jobs
