-- One row per usable received row that says again, word for word, what the same file has said already.
-- The narrow key finds the candidates; only they are compared by their full digest.
with
candidates as (
    select row_key
    from normalise.lines
    where problem_reason is null
    group by row_key
    having count(*) > 1
),

copies as (
    select
        lines.row_no,
        lines.job_no,
        files.lines_may_repeat,
        row_number() over (
            partition by lines.file_no, lines.source, lines.row_digest
            order by lines.row_no
        ) as copy_no,
    from normalise.lines as lines
    join candidates on candidates.row_key = lines.row_key
    join normalise.files as files on files.file_no = lines.file_no
    where lines.problem_reason is null
),

repeated as (
    select row_no, job_no
    from copies
    where copy_no > 1 and not lines_may_repeat
)

select * from repeated
