-- One row per job in which a thermal cut-out was replaced and no cause of its going was found: for the trainer.
-- A cause is a cause or outside finding that was written down, or other work on the machine in the same job.
with
cut_outs as (
    select
        lines.job_no,
        min(coalesce(parts.part_no, lines.part_no)) as part_no,
        min(lines.part_name) as part_name,
    from tables.lines as lines
    left join tables.parts as parts on parts.part_key = lines.part_key
    join normalise.thermal_cut_outs as names on names.part_name = coalesce(lines.part_name, parts.part_name)
    where lines.is_worked_part and lines.action = 'replace'
    group by lines.job_no
),

causes as (
    select lines.job_no
    from tables.lines as lines
    join cut_outs on cut_outs.job_no = lines.job_no
    left join tables.parts as parts on parts.part_key = lines.part_key
    left join normalise.thermal_cut_outs as names on names.part_name = coalesce(lines.part_name, parts.part_name)
    left join normalise.outside_causes as findings on findings.meaning = lines.finding
    where coalesce(lines.cause, 'unknown') <> 'unknown'
        or findings.meaning is not null
        or lines.is_outside_cause
        or (lines.is_worked_part and names.part_name is null)
    group by lines.job_no
)

select
    jobs.job_no,
    jobs.source,
    jobs.job_id,
    jobs.reported_on,
    jobs.unit_type,
    jobs.make,
    jobs.model,
    jobs.machine_no,
    cut_outs.part_no,
    cut_outs.part_name,
    jobs.technician,
    jobs.outcome,
from cut_outs
join tables.jobs as jobs on jobs.job_no = cut_outs.job_no
left join causes on causes.job_no = cut_outs.job_no
where causes.job_no is null
