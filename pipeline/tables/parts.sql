-- One row per part in the log, the parts list or the stock list, or named as another's successor.
-- The number is shown as the parts list writes it, else as most often written; ties by the smallest.
with
listed as (
    select
        part_key,
        min_by(part_no, row_no) as part_no,
        min_by(part_name, case when part_name is not null then row_no end) as part_name,
        min_by(safety_part, case when safety_part is not null then row_no end) as is_safety_part,
        min_by(unit_cost_minor, case when unit_cost_minor is not null then row_no end) as unit_cost_minor,
        min_by(replaced_by, case when replaced_by is not null then row_no end) as replaced_by,
        min_by(lead_days, case when lead_days is not null then row_no end) as lead_days,
        min_by(volume_l, case when volume_l is not null then row_no end) as volume_l,
        min_by(least_order, case when least_order is not null then row_no end) as least_order,
    from normalise.parts_list
    where problem_reason is null and part_key is not null
    group by part_key
),

numbers as (
    select part_key, part_no, row_number() over (partition by part_key order by count(*) desc, part_no) as place
    from tables.lines
    where part_no is not null
    group by part_key, part_no
),

names as (
    select part_key, part_name, row_number() over (partition by part_key order by count(*) desc, part_name) as place
    from tables.lines
    where part_name is not null and part_key is not null
    group by part_key, part_name
),

-- What a listed part was replaced by need not be listed itself.
successors as (
    select numbers.part_key, min(listed.replaced_by) as part_no
    from listed
    join normalise.part_numbers as numbers on numbers.part_no = listed.replaced_by
    where numbers.part_key is not null
    group by numbers.part_key
),

stocked as (
    select part_key, min(part_no) as part_no
    from tables.stock
    where part_key is not null
    group by part_key
),

every as (
    select part_key from tables.lines where part_key is not null
    union
    select part_key from listed
    union
    select part_key from successors
    union
    select part_key from stocked
)

select
    every.part_key,
    coalesce(listed.part_no, numbers.part_no, successors.part_no, stocked.part_no) as part_no,
    coalesce(listed.part_name, names.part_name) as part_name,
    coalesce(listed.is_safety_part, false) as is_safety_part,
    listed.unit_cost_minor,
    listed.replaced_by,
    listed.lead_days,
    listed.volume_l,
    listed.least_order,
    listed.part_key is not null as is_listed,
from every
left join listed on listed.part_key = every.part_key
left join numbers on numbers.part_key = every.part_key and numbers.place = 1
left join successors on successors.part_key = every.part_key
left join stocked on stocked.part_key = every.part_key
left join names on names.part_key = every.part_key and names.place = 1
