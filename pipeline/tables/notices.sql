-- One row per recall or safety notice that the firm keeps and that could be read.
select
    row_no,
    make,
    model,
    serial_from,
    serial_to,
    text,
    reference,
    dated_on,
from normalise.notice_list
where problem_reason is null
