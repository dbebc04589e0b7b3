-- One row per rule of job building: how many jobs it stands for, and how many visits those jobs have.
-- The rules, in the order in which they are tried: same number; number with a suffix; planned return; new after a closed
-- job; new.
with
visits as (
    select job_no, count(*) as count_visits
    from tables.visits
    group by job_no
)

select
    rules.joined_by as rule,
    count(*) as count_jobs,
    cast(sum(visits.count_visits) as bigint) as count_visits,
from tables.job_rules as rules
join visits on visits.job_no = rules.job_no
group by rules.joined_by
