"""facts.job_money, facts.return_chains and what they rest on, on logs small enough to add up by eye."""

import pytest

from tests.builds import built
from tests.table_text import assert_table

HEADER = (
    "job_id | visit_no | unit_id | unit_type | reported_at | finished_at | outcome | symptom | part_no | action | quantity | "
    "part_status | part_source | part_cost | charge | part_charge | payer | hands_on_min | travel_min"
)


def line(job="A", on="2026-01-05", **cells):
    given = {
        "job_id": job, "visit_no": "1", "unit_id": "U", "unit_type": "washer", "reported_at": on, "finished_at": on,
        "outcome": "fixed", "symptom": "noisy", "part_no": "P1", "action": "replace", "part_cost": "38.00",
        "charge": "165.00", "payer": "customer", "hands_on_min": "40", "travel_min": "25",
    }  # fmt: skip
    row = {**given, **cells}
    return " | ".join(row.get(name.strip(), "") for name in HEADER.split("|"))


def log(*lines, **lists):
    return built("\n".join([HEADER, *lines]), **lists)


def money(*lines, columns="margin_minor, is_paid, is_unpaid", **lists):
    return log(*lines, **lists).execute(f"select {columns} from facts.job_money order by job_no").fetchall()


def chains(*lines):
    sql = "select j.job_id, c.count_jobs, c.minutes, c.cost_minor from facts.return_chains as c join tables.jobs as j using (job_no) order by 1"
    return log(*lines).execute(sql).fetchall()


def test_charge_of_a_visit_is_the_whole_else_the_sum_of_its_pieces_else_nothing():
    lines = [line(charge=""), line("B", charge="", part_charge="12.50"), line("C", charge="0")]
    sql = "select charged_minor from facts.visit_charges order by job_no"
    assert log(*lines).execute(sql).fetchall() == [(None,), (1250,), (0,)]


def test_margin_is_the_charge_less_the_part():
    assert money(line()) == [(12700, True, False)]


@pytest.mark.parametrize(
    ("cells", "margin"),
    [
        ({"part_source": "customer-supplied"}, 16500),
        ({"part_status": "taken out again"}, 16500),
        ({"part_status": "faulty new"}, 16500),
        ({"part_cost": ""}, None),
        ({"action": "clean", "part_cost": ""}, 16500),
        ({"charge": ""}, None),
        ({"payer": "maker warranty"}, 12700),
        ({"payer": "maker warranty", "part_charge": "55"}, 11000),
        ({"payer": "maker warranty", "part_cost": ""}, 16500),
    ],
    ids=[
        *("supplied by the customer", "goes back", "faulty goes back", "cost not known", "no part used"),
        *("charge not known", "maker pays, parts at cost", "maker pays the part", "maker supplies the part"),
    ],
)  # fmt: skip
def test_what_is_ours_to_earn_on(cells, margin):
    assert money(line(**cells), columns="margin_minor") == [(margin,)]


def test_part_without_a_recorded_cost_costs_what_the_list_says_times_its_number():
    con = log(line(part_cost="", quantity="2"), parts="part_no | part_name | unit_cost\nP1 | pump | 20.00")
    assert_table(con, "facts.job_parts_cost", "parts_cost_minor:bigint | count_unpriced:bigint\n4000 | 0")


@pytest.mark.parametrize(
    ("cells", "paid_and_unpaid"),
    [
        ({"payer": "own guarantee", "charge": "0"}, (False, True)),
        ({"payer": "own guarantee", "charge": ""}, (False, True)),
        ({"payer": "goodwill", "charge": "0"}, (False, True)),
        ({"payer": "customer", "charge": "0"}, (False, True)),
        ({"payer": "", "charge": "0"}, (False, True)),
        ({"payer": "", "charge": "80"}, (True, False)),
        ({"payer": "", "charge": ""}, (False, False)),
        ({"payer": "customer", "charge": ""}, (False, False)),
        ({"payer": "insurer", "charge": "0"}, (True, False)),
    ],
)
def test_who_paid(cells, paid_and_unpaid):
    assert money(line(**cells), columns="is_paid, is_unpaid") == [paid_and_unpaid]


def test_job_with_several_payers_has_no_margin():
    lines = [line(outcome="return booked"), line(visit_no="2", payer="insurer", part_cost="")]
    assert money(*lines, columns="margin_minor, has_several_payers") == [(None, True)]


def test_hours_are_whole_only_when_each_attended_visit_has_them():
    lines = [line(outcome="return booked", hands_on_min=""), line(visit_no="2")]
    assert money(*lines, columns="minutes, has_all_minutes") == [(90, False)]
    assert money(line(), columns="minutes, has_all_minutes") == [(65, True)]


def test_trip_in_vain_counts_with_its_minutes():
    lines = [line(outcome="no access", hands_on_min="", action="", part_no="", charge=""), line(visit_no="2")]
    assert money(*lines, columns="count_wasted, wasted_minutes, minutes, has_all_minutes") == [
        (1, 25, 90, True)
    ]


FREE = {"payer": "own guarantee", "charge": "0"}


def test_chain_runs_on_through_unpaid_returns_of_the_same_fault():
    lines = [
        line(),
        line("B", "2026-01-10", **FREE),
        line("C", "2026-02-10", **FREE),
        line("D", "2026-03-10"),
    ]
    # A starts both; B starts C; C is followed by a paid job, which starts no unpaid chain.
    assert chains(*lines) == [("A", 2, 130, 7600), ("B", 1, 65, 3800), ("C", 0, 0, 0)]


def test_unpaid_visit_without_a_finding_belongs_to_the_chain():
    nothing = line("B", "2026-01-10", outcome="no fault found", part_no="", action="", part_cost="", **FREE)
    assert chains(line(), nothing, line("C", "2026-01-20", **FREE)) == [("A", 2, 130, 3800)]


def test_chain_ends_before_another_fault():
    other = line("C", "2026-01-20", symptom="leaking", part_no="P2", **FREE)
    assert chains(line(), line("B", "2026-01-10", **FREE), other) == [("A", 1, 65, 3800)]


def test_what_the_customer_pays_for_a_return_is_taken_off_its_cost():
    assert chains(line(), line("B", "2026-01-10", payer="own guarantee", charge="55")) == [
        ("A", 1, 65, -1700)
    ]


def test_return_of_which_nobody_knows_who_paid_is_told_apart():
    con = log(line(), line("B", "2026-01-10", payer="", charge=""))
    found = con.execute("select is_unpaid, is_payer_unknown, count_jobs from facts.return_chains").fetchall()
    assert found == [(False, True, 0)]


def test_way_of_failing_is_the_first_one_written_for_the_part():
    header = f"{HEADER} | mechanism"
    con = built(
        "\n".join(
            [header, f"{line()} | ", f"{line(action='clean')} | stuck", f"{line(action='free')} | worn"]
        )
    )
    assert_table(con, "facts.part_mechanisms", "part_key | mechanism\nP1 | stuck")


def test_fixes_of_the_same_symptom_within_the_guarantee_came_before_an_outside_cause():
    header = f"{HEADER} | finding"
    pump = [line(at, on=on) for at, on in (("A", "2026-02-01"), ("B", "2026-02-20"), ("old", "2025-10-01"))]
    other = line("E", "2026-02-21", symptom="leaking", part_no="P2")
    loop = line("C", "2026-03-01", action="correct installation", part_no="", part_cost="")
    con = built("\n".join([header, *(f"{row} |" for row in (*pump, other)), f"{loop} | no high loop"]))
    sql = "select j.job_id from facts.before_outside_causes as b join tables.jobs as j on j.job_no = b.earlier_job_no order by 1"
    assert con.execute(sql).fetchall() == [("A",), ("B",)]
