-- One row per row of a log without job numbers: the visit that it is of, and the day and start of that visit.
-- Rows on one machine and one day, and with one start where starts are given, are one visit; where the machine is not
-- known, rows of one kind (make and model) at one site. A row without a start is of the day's first visit.
with
said as (
    select
        lines.job_no as given_no,
        min(lines.source) as source,
        min(lines.site_id) as site_id,
        min(lines.unit_type) as unit_type,
        min(lower(lines.make)) as make,
        min(lower(lines.model)) as model,
        min(case when lines.job_kind in ('fault', 'workshop') then 'fault' else coalesce(lines.job_kind, 'fault') end) as kind,
        min(coalesce(lines.started_on, lines.finished_on, lines.booked_for_on, lines.reported_on)) as visit_on,
        min(lines.started_at) as started_at,
        min(lines.outcome) as outcome,
        max(
            case
                when lines.part_status in ('ordered', 'needed not on van') then 1
                when lines.second_visit_reason = 'part not on van' then 1
                else 0
            end
        ) as is_on_order,
    from tables.given_lines as lines
    join normalise.files as files on files.file_no = lines.file_no and not files.has_job_id
    group by lines.job_no
),

placed as (
    select
        said.*,
        keys.machine_key,
        case
            when keys.machine_key is not null then keys.machine_key
            when said.site_id is not null then 'at ' || said.site_id || ' ' || said.unit_type
            else 'row ' || cast(said.given_no as varchar)
        end as place_key,
        case
            when keys.machine_key is null and coalesce(said.make, said.model) is not null
                then coalesce(said.make, '') || ' ' || coalesce(said.model, '')
        end as model_there,
    from said
    join tables.given_keys as keys on keys.job_no = said.given_no
),

-- A row without make and model is on that of the day, where the others name only one.
of_model as (
    select
        *,
        coalesce(
            model_there,
            case
                when min(model_there) over (partition by source, place_key, kind, visit_on)
                    = max(model_there) over (partition by source, place_key, kind, visit_on)
                    then min(model_there) over (partition by source, place_key, kind, visit_on)
            end,
            ''
        ) as model_key,
    from placed
),

started as (
    select
        *,
        coalesce(
            started_at, min(started_at) over (partition by source, place_key, kind, visit_on, model_key)
        ) as visit_start,
    from of_model
)

select
    given_no,
    min(given_no) over (
        partition by source, place_key, kind, visit_on, model_key, visit_start
    ) as first_given_no,
    source,
    machine_key,
    kind,
    visit_on,
    visit_start,
    outcome,
    is_on_order,
from started
