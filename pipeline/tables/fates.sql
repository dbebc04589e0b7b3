-- One row per received log row: what became of it.
select
    lines.row_no,
    lines.file_no,
    lines.record,
    coalesce(unused.fate, 'used') as fate,
    unused.column_name,
    unused.reason,
    unused.shape,
from normalise.lines as lines
left join tables.unused_rows as unused on unused.row_no = lines.row_no
