-- One row per machine and basis: the days on which it was under observation, from enter_on until before exit_on.
-- Machine list: from installation (unknown: from the log's first day) for listed machines. Machines seen: from the
-- finish of the machine's first job in the whole log. Null exit_on: followed to the end of the window. The day on which
-- a machine ends is no longer counted.
with
bases as (
    select
        machines.*,
        'machine list' as basis,
        coalesce(machines.installed_on, windows.first_on) as enter_on,
    from tables.machines as machines
    cross join facts.windows as windows
    where machines.is_listed
    union all
    select
        machines.*,
        'machines seen' as basis,
        machines.first_finish_on as enter_on,
    from tables.machines as machines
    where machines.first_finish_on is not null
)

select
    machine_no,
    basis,
    unit_type,
    make,
    model,
    enter_on,
    ended_on as exit_on,
    last_contact_on,
    age_origin_on,
    first_job_no,
from bases
where enter_on < coalesce(ended_on, date '9999-12-31')
