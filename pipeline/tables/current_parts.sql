-- One row per part that the parts list says was replaced by another, with the part that stands at the end of its chain.
-- Circular: the chain comes back to where it was, or is longer than 63 steps; the part is then kept apart, as its own.
with
steps_1 as (
    select parts.part_key, numbers.part_key as next_key
    from tables.parts as parts
    join normalise.part_numbers as numbers on numbers.part_no = parts.replaced_by
    where numbers.part_key is not null and numbers.part_key <> parts.part_key
),

-- Each table goes twice as far along the chain as the one before it, and no further than its end.
steps_2 as (
    select here.part_key, coalesce(there.next_key, here.next_key) as next_key
    from steps_1 as here
    left join steps_1 as there on there.part_key = here.next_key
),

steps_4 as (
    select here.part_key, coalesce(there.next_key, here.next_key) as next_key
    from steps_2 as here
    left join steps_2 as there on there.part_key = here.next_key
),

steps_8 as (
    select here.part_key, coalesce(there.next_key, here.next_key) as next_key
    from steps_4 as here
    left join steps_4 as there on there.part_key = here.next_key
),

steps_16 as (
    select here.part_key, coalesce(there.next_key, here.next_key) as next_key
    from steps_8 as here
    left join steps_8 as there on there.part_key = here.next_key
),

steps_32 as (
    select here.part_key, coalesce(there.next_key, here.next_key) as next_key
    from steps_16 as here
    left join steps_16 as there on there.part_key = here.next_key
),

steps_64 as (
    select here.part_key, coalesce(there.next_key, here.next_key) as next_key
    from steps_32 as here
    left join steps_32 as there on there.part_key = here.next_key
)

-- An end is a part that nothing replaces.
select
    ends.part_key,
    case when further.part_key is null then ends.next_key else ends.part_key end as current_key,
    further.part_key is not null as is_circular,
from steps_64 as ends
left join steps_1 as further on further.part_key = ends.next_key
