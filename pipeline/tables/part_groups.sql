-- One row per part whose function group is known: parts that do the same work, whatever their number, make and family.
-- What the shop wrote of the number decides first, then the name at the end of the chain of numbers that replaced it,
-- then its own name. A name that may be one of several parts makes no group.
select
    parts.part_key,
    coalesce(written.function_group, replaced.function_group, ends.function_group, named.function_group)
        as function_group,
from tables.parts as parts
left join tables.current_parts as chains on chains.part_key = parts.part_key
left join tables.parts as current_ones on current_ones.part_key = chains.current_key
left join normalise.number_groups as written on written.part_key = parts.part_key
left join normalise.number_groups as replaced on replaced.part_key = chains.current_key
left join normalise.name_groups as ends on ends.part_name = current_ones.part_name
left join normalise.name_groups as named on named.part_name = parts.part_name
where
    coalesce(written.function_group, replaced.function_group, ends.function_group, named.function_group) is not null
