-- One row per job that used parts: what they cost the shop, as recorded, else by the parts list.
-- A part that the customer supplied costs nothing, nor does one without a recorded cost where the maker pays; one taken out
-- again, or that came faulty, goes back. Unpriced: parts fitted of which neither says what they cost. What a row cost is
-- one amount for all its works.
with
used as (
    select
        lines.job_no,
        coalesce(lines.part_source = 'customer-supplied', false) as is_from_customer,
        coalesce(jobs.payer = 'maker warranty', false) as is_for_maker,
        lines.part_cost_minor,
        max(lines.part_cost_minor) over (partition by lines.row_no) as row_cost_minor,
        case
            when lines.action = 'replace' then parts.unit_cost_minor * coalesce(lines.quantity, 1)
        end as listed_cost_minor,
        lines.action = 'replace' as is_new,
    from tables.lines as lines
    join tables.jobs as jobs on jobs.job_no = lines.job_no
    join tables.parts as parts on parts.part_key = lines.part_key
    where lines.is_worked_part
),

priced as (
    select
        job_no,
        is_new,
        case
            when is_from_customer then 0
            when row_cost_minor is not null then coalesce(part_cost_minor, 0)
            when is_new and not is_for_maker then listed_cost_minor
            else 0
        end as cost_minor,
    from used
)

select
    job_no,
    cast(coalesce(sum(cost_minor), 0) as bigint) as parts_cost_minor,
    count(*) filter (where cost_minor is null) as count_unpriced,
from priced
group by job_no
