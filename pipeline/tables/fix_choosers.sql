-- One row per job in which the visit that decided named its parts before: who chose the fix.
-- The earliest attended visit that names a part worked on in the last attended visit chose it; who fitted it is kept
-- apart.
with
several as (select job_no from tables.visits where visit_no = 2),

fitted as (
    select distinct lines.job_no, lines.part_key
    from tables.lines as lines
    join tables.job_ends as ends on ends.job_no = lines.job_no and ends.last_attended_no = lines.visit_no
    where lines.is_worked_part and lines.job_no in (select job_no from several)
),

named as (
    select lines.job_no, min(lines.visit_no) as chosen_visit_no
    from tables.lines as lines
    join fitted on fitted.job_no = lines.job_no and fitted.part_key = lines.part_key
    join tables.visits as visits on visits.visit_key = lines.visit_key and visits.is_attended
    where coalesce(lines.part_status, '') not in ('taken out again', 'returned')
    group by lines.job_no
),

-- Most jobs have one visit, which chose what it fitted.
alone as (
    select distinct lines.job_no
    from tables.lines as lines
    where lines.is_worked_part and not exists (select 1 from several where several.job_no = lines.job_no)
)

select
    named.job_no,
    visits.technician,
from named
join tables.visits as visits on visits.job_no = named.job_no and visits.visit_no = named.chosen_visit_no
union all
select
    alone.job_no,
    visits.technician,
from alone
join tables.visits as visits on visits.job_no = alone.job_no and visits.is_attended
