-- One row per fault job: what was charged and by whom it was paid, what its parts cost the shop, and its hours.
-- Paid: by whom nobody is our own guarantee or goodwill, and something was charged or a maker or insurer pays. Unpaid:
-- own guarantee, goodwill, or charged at nothing. Otherwise nobody can say, and both are false.
-- Where a maker pays, parts are not the shop's to earn on: what was charged for them and what they cost are left out.
with
recorded as (
    select coalesce(count(travel_min) > 0, false) as has_travel
    from tables.visits
),

by_visit as (
    select
        visits.job_no,
        charges.charged_minor,
        visits.part_charge_minor,
        visits.payer,
        visits.currency,
        visits.hands_on_min,
        visits.travel_min,
        visits.is_attended and visits.hands_on_min is null as is_without_hands_on,
        visits.is_attended and visits.travel_min is null as is_without_travel,
        vain.visit_key is not null as is_wasted,
        coalesce(vain.minutes, 0) as wasted_minutes,
    from tables.visits as visits
    join facts.visit_charges as charges on charges.visit_key = visits.visit_key
    left join facts.trips_in_vain as vain on vain.visit_key = visits.visit_key
),

several as (select job_no from tables.visits where visit_no = 2),

-- Most jobs have one visit, which says all of it.
by_job as (
    select
        job_no,
        cast(sum(charged_minor) as bigint) as charged_minor,
        cast(sum(part_charge_minor) as bigint) as part_charge_minor,
        min(payer) as first_payer,
        max(payer) as last_payer,
        count(distinct currency) as count_currencies,
        sum(hands_on_min) as hands_on_min,
        sum(travel_min) as travel_min,
        count(*) filter (where is_without_hands_on) as count_without_hands_on,
        count(*) filter (where is_without_travel) as count_without_travel,
        count(*) filter (where is_wasted) as count_wasted,
        sum(wasted_minutes) as wasted_minutes,
    from by_visit
    where job_no in (select job_no from several)
    group by job_no
    union all
    select
        job_no,
        charged_minor,
        part_charge_minor,
        payer,
        payer,
        case when currency is not null then 1 else 0 end,
        hands_on_min,
        travel_min,
        case when is_without_hands_on then 1 else 0 end,
        case when is_without_travel then 1 else 0 end,
        case when is_wasted then 1 else 0 end,
        wasted_minutes,
    from by_visit
    where not exists (select 1 from several where several.job_no = by_visit.job_no)
),

joined as (
    select
        jobs.job_no,
        jobs.currency,
        by_job.count_currencies,
        coalesce(by_job.first_payer, jobs.payer) as payer,
        coalesce(by_job.first_payer <> by_job.last_payer, false) as has_several_payers,
        by_job.charged_minor,
        by_job.part_charge_minor,
        case when coalesce(costs.count_unpriced, 0) = 0 then coalesce(costs.parts_cost_minor, 0) end
            as parts_cost_minor,
        coalesce(by_job.hands_on_min, 0)
            + case when jobs.job_kind = 'workshop' then 0 else coalesce(by_job.travel_min, 0) end as minutes,
        by_job.count_without_hands_on = 0
            and (by_job.count_without_travel = 0 or jobs.job_kind = 'workshop' or not recorded.has_travel)
            as has_all_minutes,
        by_job.count_wasted,
        by_job.wasted_minutes,
    from tables.jobs as jobs
    cross join recorded
    join by_job on by_job.job_no = jobs.job_no
    left join facts.job_parts_cost as costs on costs.job_no = jobs.job_no
    where jobs.is_fault
)

select
    joined.*,
    coalesce(payer in ('own guarantee', 'goodwill'), false)
        or (coalesce(payer, 'customer') = 'customer' and coalesce(charged_minor, 1) <= 0) as is_unpaid,
    coalesce(payer in ('customer', 'maker warranty', 'insurer') and charged_minor is not null, false)
        and not (payer = 'customer' and charged_minor <= 0)
        or coalesce(payer is null and charged_minor > 0, false) as is_paid,
    case
        when has_several_payers or count_currencies > 1 then null
        when payer = 'maker warranty'
            then charged_minor - coalesce(part_charge_minor, parts_cost_minor, 0)
        else charged_minor - parts_cost_minor
    end as margin_minor,
from joined
