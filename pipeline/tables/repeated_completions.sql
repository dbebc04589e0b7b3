-- One row per row that completes a visit and says again what an earlier file of its layout has said already.
-- Rows that completing files repeat within themselves are among tables.repeated_rows.
with
copies as (
    select
        lines.row_no,
        lines.file_no,
        files.layout,
        files.file_order,
        lines.source,
        lines.row_digest,
        row_number() over (
            partition by lines.file_no, lines.source, lines.row_digest
            order by lines.row_no
        ) as copy_no,
    from normalise.lines as lines
    join normalise.files as files on files.file_no = lines.file_no and files.completes is not null
    left join tables.repeated_rows as repeated on repeated.row_no = lines.row_no
    where lines.problem_reason is null and repeated.row_no is null
),

placed as (
    select
        row_no,
        row_number() over (partition by layout, source, row_digest, copy_no order by file_order) as place,
    from copies
)

select row_no
from placed
where place > 1
