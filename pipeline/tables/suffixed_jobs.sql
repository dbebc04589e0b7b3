-- One row per job number that is one of several with one base (1234, 1234-1, 1234/2, 1234-A, 1234 rtn): the job that
-- they are together. A log without such numbers has none.
-- A base ends in three digits; behind it stand a mark and one digit from 1 to 9, a letter from A to F or a word for
-- return. Numbers that merely look alike are left apart: a base with a number from 10 upwards behind it is a counter; one
-- that reads as a year, month or day is a base only where the bare number is there; and all must agree in machine, site,
-- kind, make and model where they say them. Where they do not, those on one machine are joined, or else those of one
-- kind at one site. Where none names a machine or a site, they must lie within 180 days.
with
numbers as (
    select job_no, source, upper(job_id) as number_given
    from tables.given_heads
),

-- Most logs have no such number: these few are looked at closely.
marked as (
    select *
    from numbers
    where number_given like '%-%'
        or number_given like '%/%'
        or number_given like '% %'
        or number_given like '%RT%'
        or number_given like '%RE%'
),

suffixed as (
    select
        job_no,
        source,
        regexp_extract(
            number_given,
            '^(.*[0-9]{3})(?:[ ]*[-/ ][ ]*(?:[1-9]|[A-F])|[ ]*[-/ ]?[ ]*(?:RTN|RET|RETURN|REVISIT)[ ]*[1-9]?)$',
            1
        ) as base,
    from marked
),

counters as (
    select distinct source, regexp_extract(number_given, '^(.*[0-9]{3})[ ]*[-/ ][ ]*[0-9]{2,}$', 1) as base
    from marked
),

bases as (
    select distinct suffixed.source, suffixed.base
    from suffixed
    left join counters on counters.source = suffixed.source and counters.base = suffixed.base
    where suffixed.base <> '' and counters.base is null
),

members as (
    select bases.source, bases.base, suffixed.job_no, 0 as is_bare
    from bases
    join suffixed on suffixed.source = bases.source and suffixed.base = bases.base
    union all
    select bases.source, bases.base, numbers.job_no, 1
    from bases
    join numbers on numbers.source = bases.source and numbers.number_given = bases.base
),

described as (
    select
        members.*,
        keys.machine_key,
        heads.site_id,
        case when heads.unit_type <> 'kind unknown' then heads.unit_type end as unit_type,
        lower(heads.make) as make,
        lower(heads.model) as model,
        heads.first_day_on,
        coalesce(
            keys.machine_key, 'at ' || heads.site_id || ' ' || heads.unit_type, 'job ' || cast(members.job_no as varchar)
        ) as place_key,
    from members
    join tables.given_heads as heads on heads.job_no = members.job_no
    join tables.given_keys as keys on keys.job_no = members.job_no
),

agreements as (
    select
        source,
        base,
        count(distinct machine_key) <= 1
            and count(distinct site_id) <= 1
            and count(distinct unit_type) <= 1
            and count(distinct make) <= 1
            and count(distinct model) <= 1
            as is_agreed,
        count(machine_key) + count(site_id) > 0 as is_placed,
        min(first_day_on) as first_on,
        max(first_day_on) as last_on,
        max(is_bare) = 1
            or not regexp_matches(base, '^(.*[^0-9])?(19|20)[0-9]{2}([0-9]{2}){0,2}$') as is_base,
    from described
    group by source, base
),

grouped as (
    select
        described.*,
        case
            when agreements.is_agreed
                and (agreements.is_placed or date_diff('day', agreements.first_on, agreements.last_on) <= 180)
                then ''
            else described.place_key
        end as place_of_base,
    from described
    join agreements on agreements.source = described.source and agreements.base = described.base
    where agreements.is_base
),

ordered as (
    select
        *,
        count(*) over (partition by source, base, place_of_base) as count_members,
        row_number() over (
            partition by source, base, place_of_base order by is_bare desc, first_day_on, job_no
        ) as place,
        first_value(job_no) over (
            partition by source, base, place_of_base order by is_bare desc, first_day_on, job_no
            rows between unbounded preceding and current row
        ) as first_job_no,
    from grouped
)

select
    job_no as given_no,
    first_job_no as job_no,
    place,
    case when place = 1 then 'same number' else 'number with a suffix' end as joined_by,
from ordered
where count_members > 1
