-- One row per used line of a visit's own file, with the job as it was given: a number of the log, or the row itself.
-- Kept as a view.
select lines.*
from normalise.lines as lines
left join tables.unused_rows as unused on unused.row_no = lines.row_no
where unused.row_no is null and lines.job_no is not null
