-- One row per received log row: what became of it.
select
    lines.row_no,
    lines.file_no,
    lines.record,
    coalesce(unused.fate, case when completing.reason is not null then 'set aside' end, 'used') as fate,
    coalesce(unused.column_name, completing.column_name) as column_name,
    coalesce(unused.reason, completing.reason) as reason,
    unused.shape,
from normalise.lines as lines
left join tables.unused_rows as unused on unused.row_no = lines.row_no
left join tables.completing_rows as completing on completing.row_no = lines.row_no
