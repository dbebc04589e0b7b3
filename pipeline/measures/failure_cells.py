"""Counted cells behind the part failure rate: events, works and machine-days a group (measure book, section 2)."""

from __future__ import annotations

from dataclasses import dataclass

import duckdb
import polars as pl

from pipeline.measures.counted_parts import OF_A_PART, counted_parts
from pipeline.measures.groups import AGE_BANDS
from pipeline.measures.query import ask
from pipeline.measures.window import Bounds

_BANDS = ", ".join(f"({low}, {high}, '{label}')" for low, high, label in AGE_BANDS)


def failure_cells(
    con: duckdb.DuckDBPyConnection,
    bounds: Bounds,
    names: tuple[str, ...],
    basis: str,
    *,
    exit_months: int | None,
) -> pl.DataFrame:
    """One row a group: events, works, machine-days, and the sums over machines that the by-unit variance needs."""
    parts, counted = _Pieces(names), counted_parts(names)
    exit_on = "coalesce(exit_on, $to_on)"
    if exit_months is not None:
        exit_on = f"least({exit_on}, (last_contact_on + interval {exit_months} month)::date)"
    sql = f"""
    with {counted.before} bands(low, high, label) as (values {_BANDS}),
    followed as (
        select machine_no, unit_type, make, model, age_origin_on,
            greatest(enter_on, $from_on) as a, least({exit_on}, $to_on) as b
        from facts.exposure where basis = $basis
    ),
    e as ({parts.exposure}),
    cells as (
        select {parts.machine_groups} unit_type, count(*) as machines, sum(b - a)::double as days, sum((b - a) * (b - a))::double as days2
        from e group by all
    ),
    off as (
        select e.machine_no, e.a, o.part_key, sum(least(coalesce(o.off_to, e.b), e.b) - greatest(o.off_from, e.a))::double as off
        from {counted.off_risk} as o join e on e.machine_no = o.machine_no and o.off_from < e.b and coalesce(o.off_to, e.b) > e.a
        group by all
    ),
    works as (
        select e.machine_no, e.a, w.part_key, count(*) as jobs,
            count(*) filter (where not w.is_repeat and not w.is_overlapping)::double as d,
            count(*) filter (where not w.is_repeat and not w.is_overlapping and w.is_confirmed) as confirmed,
            count(*) filter (where w.is_done_together) as done_together
        from {counted.works} as w join e on e.machine_no = w.machine_no and w.reported_on >= e.a and w.reported_on < e.b
        where w.reported_at >= $from_utc and w.reported_at < $to_utc and not ($basis = 'machines seen' and w.is_first_job)
        group by all
    ),
    touched as (
        select coalesce(off.machine_no, works.machine_no) as machine_no, coalesce(off.a, works.a) as a,
            coalesce(off.part_key, works.part_key) as part_key,
            coalesce(off, 0) as off, coalesce(d, 0) as d, coalesce(jobs, 0) as jobs, coalesce(confirmed, 0) as confirmed,
            coalesce(done_together, 0) as done_together
        from off full join works on off.machine_no = works.machine_no and off.a = works.a and off.part_key = works.part_key
    ),
    changes as (
        select t.part_key, {parts.e_groups} e.unit_type, sum(t.off) as off, sum(t.d) as d, sum(t.jobs) as jobs, sum(t.confirmed) as confirmed,
            sum(t.done_together) as done_together,
            sum(t.d * t.d) as d2, sum(t.d * ((e.b - e.a) - t.off)) as dt,
            sum(((e.b - e.a) - t.off) * ((e.b - e.a) - t.off) - (e.b - e.a) * (e.b - e.a)) as days2_change
        from touched as t join e on e.machine_no = t.machine_no and e.a = t.a
        group by all
    )
    select {parts.part_groups} {parts.cell_groups}
        sum(c.machines)::bigint as machines, sum(c.days - coalesce(x.off, 0)) as days, sum(coalesce(x.d, 0)) as d,
        sum(coalesce(x.jobs, 0))::bigint as jobs, sum(coalesce(x.confirmed, 0))::bigint as confirmed,
        sum(coalesce(x.done_together, 0))::bigint as done_together, sum(coalesce(x.d2, 0)) as d2,
        sum(coalesce(x.dt, 0)) as dt, sum(c.days2 + coalesce(x.days2_change, 0)) as days2,
        {_open_jobs(parts)}
    from {counted.fits} as f
    join {counted.names} as p on p.part_key = f.part_key
    join cells as c on c.unit_type = f.unit_type
    left join changes as x on x.part_key = f.part_key and x.unit_type = c.unit_type {parts.cells_to_changes}
    group by all
    """
    values = {**bounds.parameters, "basis": basis}
    return ask(con, sql, values)


@dataclass(frozen=True)
class _Pieces:
    """The parts of the query that depend on the groups asked for."""

    names: tuple[str, ...]

    @property
    def machine(self) -> list[str]:
        """Groups that belong to a machine; the type is carried along in any case."""
        return [name for name in self.names if name in ("make", "model", "age_band")]

    @property
    def machine_groups(self) -> str:
        return "".join(f"{name}, " for name in self.machine)

    @property
    def e_groups(self) -> str:
        return "".join(f"e.{name}, " for name in self.machine)

    @property
    def cell_groups(self) -> str:
        return "".join(f"c.{name}, " for name in self.names if name not in OF_A_PART)

    @property
    def part_groups(self) -> str:
        return "".join(f"p.{name}, " for name in self.names if name in OF_A_PART)

    @property
    def cells_to_changes(self) -> str:
        return "".join(f" and x.{name} is not distinct from c.{name}" for name in self.machine)

    @property
    def exposure(self) -> str:
        """Time under observation; by age band it is cut at the limits of the bands (Lexis)."""
        if "age_band" not in self.names:
            return "select machine_no, unit_type, make, model, a, b from followed where a < b"
        return """
        select machine_no, unit_type, make, model, label as age_band, a, b from (
            select machine_no, unit_type, make, model, label,
                greatest(a, (age_origin_on + to_years(low))::date) as a, least(b, (age_origin_on + to_years(high))::date) as b
            from followed cross join bands where age_origin_on is not null
        ) where a < b"""


def _open_jobs(parts: _Pieces) -> str:
    """Fault jobs reported in the window whose part is not yet known, on the kinds of machine that have the part."""
    if parts.machine:
        return "null::bigint as open_jobs"
    return """sum((select count(*) from tables.jobs as j
            where j.is_fault and j.unit_type = c.unit_type and j.finished_on is null
                and j.reported_at >= $from_utc and j.reported_at < $to_utc
                and not exists (select 1 from facts.part_works as w where w.job_no = j.job_no)))::bigint as open_jobs"""
