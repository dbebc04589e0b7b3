-- One row per index job whose first later report is the same fault: the whole unpaid chain that this return starts.
-- The chain is the return, if nobody pays for it, and each following fault job of the machine that is unpaid and the same
-- fault as the job before it. It ends before a job that is paid, of which nobody knows who paid, or of another fault.
with
-- Only machines on which one begins need to be looked at.
machines as (select distinct machine_no from facts.repeats where next_is_same_fault),

faults as (
    select
        jobs.job_no, jobs.machine_no, jobs.reported_at, jobs.finished_at, jobs.return_reason,
        named.of_job_no, money.is_unpaid, money.is_paid, money.minutes, money.charged_minor, money.parts_cost_minor,
        case when coalesce(money.payer, 'customer') in ('customer', 'own guarantee', 'goodwill') then money.charged_minor end
            as asked_minor,
        -- A return takes at least a day from the customer.
        greatest(date_diff('day', jobs.reported_on, jobs.finished_on), 1) as days_without,
        lag(jobs.job_no) over machine as job_before,
        lag(jobs.finished_at) over machine as finished_before,
    from tables.jobs as jobs
    join facts.job_money as money on money.job_no = jobs.job_no
    left join tables.returns_named as named on named.job_no = jobs.job_no
    where jobs.is_fault and jobs.machine_no in (select machine_no from machines) and jobs.reported_at is not null
    window machine as (partition by jobs.machine_no order by jobs.reported_at, jobs.job_no)
),

alike as (
    select faults.job_no
    from faults
    join tables.job_symptoms as shown on shown.job_no = faults.job_before
    join tables.job_symptoms as again on again.job_no = faults.job_no and again.symptom = shown.symptom
    union
    select faults.job_no
    from faults
    join facts.job_parts as worked on worked.job_no = faults.job_before
    join facts.job_parts as again on again.job_no = faults.job_no and again.part_key = worked.part_key
    union
    select job_no
    from faults
    where of_job_no = job_before or return_reason in ('same fault', 'wrong diagnosis')
),

linked as (
    select
        faults.*,
        coalesce(
            faults.is_unpaid
            and alike.job_no is not null
            and coalesce(faults.finished_before < faults.reported_at, true),
            false
        ) as goes_on,
    from faults
    left join alike on alike.job_no = faults.job_no
),

-- Jobs that go on from the one before stand in one run with it.
runs as (
    select
        *,
        sum(case when goes_on then 0 else 1 end) over (
            partition by machine_no
            order by reported_at, job_no
            rows between unbounded preceding and current row
        ) as run_no,
    from linked
),

-- From a job to the end of its run, itself included.
onward as (
    select
        job_no,
        is_unpaid,
        is_paid,
        count(*) over rest as count_jobs,
        sum(minutes) over rest as minutes,
        sum(coalesce(parts_cost_minor, 0) - coalesce(charged_minor, 0)) over rest as cost_minor,
        sum(coalesce(asked_minor, 0)) over rest as asked_of_all_minor,
        sum(coalesce(days_without, 1)) over rest as days_of_all,
        coalesce(asked_minor, 0) as asked_minor,
        coalesce(days_without, 1) as days_without,
    from runs
    window rest as (
        partition by machine_no, run_no
        order by reported_at, job_no
        rows between current row and unbounded following
    )
)

select
    repeats.job_no,
    repeats.next_job_no,
    repeats.days_to_next,
    repeats.next_on,
    onward.is_unpaid,
    not onward.is_unpaid and not onward.is_paid as is_payer_unknown,
    case when onward.is_unpaid then onward.count_jobs else 0 end as count_jobs,
    case when onward.is_unpaid then onward.minutes else 0 end as minutes,
    cast(case when onward.is_unpaid then onward.cost_minor else 0 end as bigint) as cost_minor,
    -- What the customer bears: the whole of an unpaid chain, or the one return that is paid.
    cast(case when onward.is_unpaid then onward.asked_of_all_minor else onward.asked_minor end as bigint)
        as asked_minor,
    case when onward.is_unpaid then onward.days_of_all else onward.days_without end as days_without_machine,
from facts.repeats as repeats
join onward on onward.job_no = repeats.next_job_no
where repeats.next_is_same_fault
