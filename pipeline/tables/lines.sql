-- One row per used line of work; a line that holds several works is one row per work.
-- Worked part: cleaned, freed, adjusted, repaired, reset or replaced, and there: a part taken out again, or needed and
-- not on the van, is none. Outside cause: a finding or cause outside the machine, with the action that mends it.
with
-- What a row cost is one amount that nobody can share out among its works: it stays with the first, so that sums hold.
used as (
    select
        lines.* exclude (part_no, part_key, part_name, quantity, "action", part_cost_minor, check_min),
        coalesce(pieces.piece_no, 1) as piece_no,
        case when pieces.row_no is null then lines.part_no else pieces.part_no end as part_no,
        case when pieces.row_no is null then lines.part_key else pieces.part_key end as part_key,
        case when pieces.row_no is null then lines.part_name else pieces.part_name end as part_name,
        case when pieces.row_no is null then lines.quantity else pieces.quantity end as quantity,
        case when pieces.row_no is null then lines."action" else pieces."action" end as "action",
        case when coalesce(pieces.piece_no, 1) = 1 then lines.part_cost_minor end as part_cost_minor,
        -- Of a row with several works nobody can tell which was checked.
        case when pieces.row_no is null then lines.check_min end as check_min,
    from tables.used_lines as lines
    left join normalise.pieces as pieces on pieces.row_no = lines.row_no
),

-- A part named without its number gets the number when the parts list has one part of that name; else it is known by
-- its name.
keyed as (
    select
        used.*,
        coalesce(used.part_key, named.part_key, 'name: ' || used.part_name) as key_of_part,
        findings.meaning as outside_finding,
        causes.meaning as outside_cause,
    from used
    left join normalise.named_parts as named on named.part_name = used.part_name
    left join normalise.outside_causes as findings on findings.meaning = used.finding
    left join normalise.outside_causes as causes on causes.meaning = used.cause
)

select
    keyed.job_no,
    visits.visit_key,
    visits.visit_no,
    -- Lines stand in the order in which they were received, works of one row in the order written.
    keyed.row_no * 100 + keyed.piece_no as line_no,
    keyed.row_no,
    keyed.file_no,
    keyed.record,
    keyed.symptom,
    keyed.fault_code,
    keyed."check",
    keyed.check_result,
    keyed.reading,
    keyed.check_min,
    keyed.finding,
    keyed.mechanism,
    keyed.cause,
    keyed.key_of_part as part_key,
    keyed.part_no,
    keyed.part_name,
    keyed.part_status,
    keyed.part_source,
    keyed.quantity,
    keyed.part_cost_minor,
    keyed.action,
    keyed.note,
    coalesce(
        keyed.key_of_part is not null
        and keyed.action in ('clean', 'free', 'adjust', 'repair', 'reset', 'replace')
        and coalesce(keyed.part_status, 'fitted') = 'fitted',
        false
    ) as is_worked_part,
    coalesce(
        keyed.action in ('correct installation', 'advise')
        and (keyed.outside_finding is not null or keyed.outside_cause is not null),
        false
    ) as is_outside_cause,
    case
        when keyed.action in ('correct installation', 'advise')
            then coalesce(keyed.outside_finding, keyed.outside_cause)
    end as outside_cause,
from keyed
join tables.visits as visits on visits.job_no = keyed.job_no and visits.visit_ref = keyed.visit_ref
