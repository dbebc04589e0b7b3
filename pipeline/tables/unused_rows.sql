-- One row per received log row that is not used, with its fate and, where it is set aside, the reason.
with
-- Two versions are the same when they hold the same rows as often: compared by count and sum of the row keys.
contents as (
    select
        job_no,
        visit_label,
        version_no,
        count(*) as count_rows,
        sum(cast(row_key as decimal(38, 0))) as sum_keys,
    from tables.shared_rows
    where not is_said_again
    group by job_no, visit_label, version_no
),

changes as (
    select
        *,
        case
            when count_rows = lag(count_rows) over (partition by job_no, visit_label order by version_no)
                and sum_keys = lag(sum_keys) over (partition by job_no, visit_label order by version_no)
                then 0
            else 1
        end as is_changed,
    from contents
),

states as (
    select
        job_no,
        visit_label,
        version_no,
        is_changed,
        sum(is_changed) over (
            partition by job_no, visit_label
            order by version_no
            rows between unbounded preceding and current row
        ) as state_no,
        sum(is_changed) over (partition by job_no, visit_label) as last_state_no,
    from changes
),

-- The last state of a visit stands, with the rows that said it first. What came before is replaced as a whole, so that
-- no row is taken for a repetition of one that no longer counts.
shared as (
    select
        rows_of.row_no,
        case
            when states.state_no < states.last_state_no then 'replaced'
            when rows_of.is_said_again or states.is_changed = 0 then 'repeated'
        end as fate,
    from tables.shared_rows as rows_of
    join states
        on states.job_no = rows_of.job_no
        and states.visit_label = rows_of.visit_label
        and states.version_no = rows_of.version_no
),

unused as (
    select
        row_no,
        'set aside' as fate,
        problem_column as column_name,
        problem_reason as reason,
        problem_shape as shape,
    from normalise.lines
    where problem_reason is not null
    union all
    select row_no, 'repeated', null, null, null
    from tables.repeated_rows
    union all
    select row_no, 'repeated', null, null, null
    from tables.repeated_completions
    union all
    select row_no, fate, null, null, null
    from shared
    where fate is not null
)

select * from unused
