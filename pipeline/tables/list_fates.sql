-- One row per received row of a list: what became of it.
with
every as (
    select file_no, record, problem_column, problem_reason, problem_shape from normalise.machine_list
    union all
    select file_no, record, problem_column, problem_reason, problem_shape from normalise.parts_list
    union all
    select file_no, record, problem_column, problem_reason, problem_shape from normalise.stock_list
    union all
    select file_no, record, problem_column, problem_reason, problem_shape from normalise.notice_list
)

select
    file_no,
    record,
    case when problem_reason is null then 'used' else 'set aside' end as fate,
    problem_column as column_name,
    problem_reason as reason,
    problem_shape as shape,
from every
