-- One row per row of the stock list that could be read.
select
    row_no,
    place,
    part_key,
    part_no,
    quantity,
    bought_on,
from normalise.stock_list
where problem_reason is null
