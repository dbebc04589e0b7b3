"""What a visit costs and who pays."""

from __future__ import annotations

import random

from sample_logs.jobs import Job, Visit

CALL_OUT = 48.0
PER_MINUTE = 0.95
PART_FACTOR = 1.55
GUARANTEE_DAYS = 90.0
PAID_OUTCOMES = {"fixed", "temporary", "return booked", "made safe", "advised", "quote declined", "beyond economic repair",
                 "referred", "no fault found"}  # fmt: skip


def payer(rng: random.Random, job: Job) -> str:
    """Who pays: our own guarantee for a fix of ours that did not hold, the maker in the first two years, else the customer."""
    earlier = job.returns_to
    if (
        earlier is not None
        and earlier.finished is not None
        and job.reported - earlier.finished <= GUARANTEE_DAYS
    ):
        return "own guarantee" if rng.random() < 0.9 else "customer"
    if job.kind in {"planned service", "installation", "quote only"}:
        return "customer"
    if job.kind == "recall work" or (job.machine.age_years(job.reported) < 2 and rng.random() < 0.85):
        return "maker warranty"
    if rng.random() < 0.015:
        return "goodwill"
    if job.machine.site_kind == "household" and job.machine.has_plan:
        return "insurer"
    return "customer"


def _parts(visit: Visit) -> float:
    lines = (line for line in visit.lines if line.get("part_status") == "fitted")
    return sum(float(line.get("part_cost", "0")) for line in lines) * PART_FACTOR


def fill_charges(rng: random.Random, job: Job) -> None:
    """Write payer and charges on every visit of a job; the call-out is charged once."""
    pays = payer(rng, job)
    called_out = False
    for visit in job.visits:
        visit.fields |= {"payer": pays, "currency": "EUR"}
        if visit.minutes is None:
            continue
        free = pays in {"own guarantee", "goodwill"} or visit.outcome not in PAID_OUTCOMES
        no_fault = visit.outcome == "no fault found" and rng.random() < 0.4
        call_out = 0.0 if free or no_fault or called_out else CALL_OUT
        labour = 0.0 if free or no_fault else round(visit.minutes * PER_MINUTE, 2)
        parts = 0.0 if free else round(_parts(visit), 2)
        called_out = True
        amounts = {"callout_charge": call_out, "labour_charge": labour, "part_charge": parts}
        visit.fields |= {name: f"{amount:.2f}" for name, amount in amounts.items()}
        visit.fields["charge"] = f"{call_out + labour + parts:.2f}"
