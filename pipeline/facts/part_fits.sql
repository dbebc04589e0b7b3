-- One row per part and kind of machine in which it is fitted: by the parts list, else where it was ever worked on.
with
listed as (select distinct part_key, unit_type from normalise.part_fits),

worked as (
    select distinct works.part_key, works.unit_type
    from facts.job_parts as works
    where works.unit_type is not null and works.part_key not in (select part_key from listed)
)

select * from listed
union all
select * from worked
