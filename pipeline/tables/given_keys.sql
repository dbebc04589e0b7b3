-- One row per job as given, before jobs are joined: which machine it was on, as a key, and the rung that says so.
-- The rungs by site are assumptions: for single households only, with one machine of that kind. A line without a
-- number joins the one numbered machine of that kind there; where there may be two, it is left without.
with
kinds as (
    select
        site_id,
        min(site_kind) as first_kind,
        max(site_kind) as last_kind,
    from tables.given_heads
    where site_id is not null and site_kind is not null
    group by site_id
),

placed as (
    select
        heads.job_no,
        heads.site_id,
        heads.unit_type,
        heads.model,
        numbered.machine_key as numbered_key,
        numbered.rung as numbered_rung,
        types.count_numbered,
        types.count_makes,
        types.count_models,
        types.machine_key as key_at_site,
        -- A job that does not say it is taken to be at the kind of site that the site's other jobs name.
        heads.unit_type <> 'kind unknown'
            and coalesce(
                heads.site_kind, case when kinds.first_kind = kinds.last_kind then kinds.first_kind end, ''
            ) = 'household' as may_be_assumed,
    from tables.given_heads as heads
    left join tables.numbered_machines as numbered on numbered.job_no = heads.job_no
    left join kinds on kinds.site_id = heads.site_id
    left join tables.site_types as types on types.site_id = heads.site_id and types.unit_type = heads.unit_type
),

judged as (
    select
        *,
        may_be_assumed and site_id is not null and count_numbered <= 1 and count_makes <= 1 and count_models <= 1 as is_single,
    from placed
)

select
    job_no,
    case
        when numbered_key is not null then numbered_key
        when is_single then coalesce(key_at_site, 'site: ' || site_id || ' ' || unit_type)
    end as machine_key,
    case
        when numbered_key is not null then numbered_rung
        when is_single and model is not null then 'site + type + model, assumed'
        when is_single then 'site + type, assumed'
        when may_be_assumed and site_id is not null then 'assumed, several'
        else 'none'
    end as rung,
from judged
