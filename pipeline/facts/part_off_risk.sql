-- One row per machine, part and stretch of days on which the part is not at risk of a failure of its own.
-- Each job on the part takes out the days from its report until repeat_days after its finish, the last day excluded; an
-- open job takes out the rest. Stretches that touch are one.
with
stretches as (
    select
        works.machine_no,
        works.part_key,
        works.reported_on as off_from,
        coalesce(works.finished_on + cast(settings.repeat_days as integer), date '9999-12-31') as off_to,
    from facts.job_parts as works
    cross join settings."values" as settings
    where works.machine_no is not null and works.reported_on is not null
),

opened as (
    select
        *,
        case
            when off_from <= max(off_to) over (
                partition by machine_no, part_key
                order by off_from, off_to
                rows between unbounded preceding and 1 preceding
            ) then 0
            else 1
        end as is_new,
    from stretches
),

numbered as (
    select
        *,
        sum(is_new) over (
            partition by machine_no, part_key
            order by off_from, off_to
            rows between unbounded preceding and current row
        ) as stretch_no,
    from opened
),

merged as (
    select machine_no, part_key, stretch_no, min(off_from) as off_from, max(off_to) as last_off_to
    from numbered
    group by machine_no, part_key, stretch_no
)

select
    machine_no,
    part_key,
    off_from,
    case when last_off_to < date '9999-12-31' then last_off_to end as off_to,
from merged
