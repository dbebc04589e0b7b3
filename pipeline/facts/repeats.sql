-- One row per index job on a known machine: the first later report on the machine, if there is one.
-- Only fault jobs are returns. A return is charged to the most recent index job: the one that finished last before it.
-- A job reported before the earlier one was finished overlaps it and is no return.
with
faults as (
    select
        jobs.job_no, jobs.machine_no, jobs.reported_at, jobs.reported_on, jobs.finished_at, jobs.finished_on,
        jobs.is_index, named.of_job_no, jobs.return_reason,
    from tables.jobs as jobs
    left join tables.returns_named as named on named.job_no = jobs.job_no
    where jobs.is_fault and jobs.machine_no is not null
),

-- Ends and reports of a machine in one line of time: a report charges the index job that ended last before it. At one
-- moment the report comes first, since a return must be later than the end.
moments as (
    select machine_no, finished_at as moment, 1 as kind, job_no, cast(null as bigint) as report_no
    from faults
    where is_index
    union all
    select machine_no, reported_at, 0, job_no, job_no
    from faults
    where reported_at is not null
),

stamped as (
    select
        machine_no,
        moment,
        kind,
        job_no,
        last_value(case when kind = 1 then job_no end ignore nulls) over (
            partition by machine_no
            order by moment, kind, job_no
            rows between unbounded preceding and current row
        ) as index_no,
        -- Whether another report stands between that end and this one.
        kind = 0 and lag(kind) over (partition by machine_no order by moment, kind, job_no) = 1 as is_first_after_end,
    from moments
),

returns as (
    select index_no, job_no as next_job_no
    from stamped
    where is_first_after_end
),

pairs as (
    select
        index_jobs.job_no,
        index_jobs.machine_no,
        index_jobs.finished_at,
        index_jobs.finished_on,
        next_jobs.job_no as next_job_no,
        next_jobs.reported_at as next_reported_at,
        next_jobs.reported_on as next_on,
        next_jobs.return_reason,
        coalesce(next_jobs.of_job_no = index_jobs.job_no, false)
            or coalesce(next_jobs.return_reason in ('same fault', 'wrong diagnosis'), false) as is_said_to_be_same,
    from faults as index_jobs
    left join returns on returns.index_no = index_jobs.job_no
    left join faults as next_jobs on next_jobs.job_no = returns.next_job_no
    where index_jobs.is_index
),

sharing as (
    select pairs.job_no
    from pairs
    join tables.job_symptoms as shown on shown.job_no = pairs.job_no
    join tables.job_symptoms as again on again.job_no = pairs.next_job_no and again.symptom = shown.symptom
    union
    select pairs.job_no
    from pairs
    join facts.job_parts as worked on worked.job_no = pairs.job_no
    join facts.job_parts as again on again.job_no = pairs.next_job_no and again.part_key = worked.part_key
)

select
    pairs.job_no,
    pairs.machine_no,
    pairs.finished_at,
    pairs.finished_on,
    pairs.next_job_no,
    pairs.next_reported_at,
    pairs.next_on,
    date_diff('day', pairs.finished_on, pairs.next_on) as days_to_next,
    case when pairs.next_job_no is not null then sharing.job_no is not null or pairs.is_said_to_be_same end
        as next_is_same_fault,
    pairs.return_reason,
    case when machines.ended_on >= pairs.finished_on then machines.ended_on end as removed_on,
from pairs
join tables.machines as machines on machines.machine_no = pairs.machine_no
left join sharing on sharing.job_no = pairs.job_no
