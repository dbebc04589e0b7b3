"""Every figure in one list: command line, pages and export all call `evaluate`."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import duckdb
import polars as pl

from pipeline.errors import CannotAnswerError, WrongUseError
from pipeline.measures import people
from pipeline.measures.changes import changes
from pipeline.measures.clean_or_replace import clean_or_replace
from pipeline.measures.first_visit import first_visit
from pipeline.measures.fix_payoff import fix_payoff
from pipeline.measures.fixed_share import fixed_share, not_fixed_reasons
from pipeline.measures.lines import Line
from pipeline.measures.no_fault_found import no_fault_found
from pipeline.measures.outside_causes import outside_causes
from pipeline.measures.part_failure_rate import part_failure_rate
from pipeline.measures.part_life import part_life
from pipeline.measures.part_life_line import part_life_line
from pipeline.measures.procedures import procedures
from pipeline.measures.question import Question
from pipeline.measures.repairs_by_age import repairs_by_age
from pipeline.measures.repairs_by_age_line import repairs_by_age_line
from pipeline.measures.repeat_visits import repeat_visits
from pipeline.measures.safety_reports import NO_REPORTS, UNIT, safety_reports
from pipeline.measures.second_visits import second_visits
from pipeline.measures.technicians import technicians
from pipeline.measures.time_to_fix import time_to_fix
from pipeline.measures.time_to_fix_line import time_to_fix_line
from pipeline.measures.unpaid_hours import unpaid_hours
from pipeline.measures.wrong_part import wrong_part


@dataclass(frozen=True)
class Measure:
    """One figure: what it is called, what it is in, which question it answers, and how it is defined."""

    name: str
    label: str
    unit: str
    question: str
    definition: str
    source: str
    work_out: Callable[[duckdb.DuckDBPyConnection, Question], pl.DataFrame]
    # One sentence for whoever owns the shop.
    meaning: str
    # What no row at all means, where that is an answer.
    when_none: str = ""
    # Until when jobs and machines were followed, and what ended it.
    followed: str = ""
    # Choices of a Question that the figure always depends on, and that are therefore always told.
    asks: tuple[str, ...] = ()
    # Whether it can leave all but one group out before it begins (`Question.only`).
    takes_only: bool = False
    # The same figure as a line to draw, where it has one.
    line: Callable[[duckdb.DuckDBPyConnection, Question, Mapping[str, str]], Line] | None = None


_ALL = (
    Measure(
        "part-failure-rate",
        "Breakdowns a year per 100 machines",
        "failures per machine-year",
        "How often does each part fail?",
        "Fault jobs in which the part was worked on, over the years that machines with the part were followed. A job within "
        "30 days of an earlier one on the same part is a repeat and no new failure; those days are not counted as followed.",
        "Exact Poisson interval: Garwood (1936), Biometrika 28, 437-442; by-unit variance where a machine fails more than once.",
        part_failure_rate,
        "Of 100 such machines, so many broke down at this part in a year, which tells how many of it to expect to need.",
        followed="Machines from their entry to their end or the end of the window, whichever comes first; the days on which the part was under repair, and 30 days after, left out.",
    ),
    Measure(
        "repeat-visits",
        "Called out again after a fix",
        "probability of a repeat within the days asked for",
        "Does the fix hold?",
        "For each fault job that ended fixed, the first later fault report on the same machine, followed to the end of the "
        "window. Same fault and other fault compete; a machine that leaves competes too. Planned returns are no repeats.",
        "Aalen and Johansen (1978), Scand. J. Statist. 5, 141-150; Wilson (1927) on the effective sample.",
        repeat_visits,
        "Of 100 machines you fixed, so many had you back within the days asked for.",
        takes_only=True,
        followed="Each fix to the end of the window (censored there); another fault, or the machine leaving, competes.",
        asks=("days", "kind"),
    ),
    Measure(
        "part-life",
        "How long a part lasts after a fix",
        "probability that the part is worked on again within the days asked for",
        "How long does the part last after it was fixed?",
        "For each part fixed on a known machine, the next fault job that works on the same part of the same machine, followed "
        "to the end of the window; jobs on other parts do not end it, a machine that leaves competes. By 30, 90 and 365 "
        "days, mean life within a year, and the shape of the lives where ten or more ended. A part cleaned or freed again "
        "stands apart; first lives are those of machines installed within the window.",
        "Aalen and Johansen (1978), Scand. J. Statist. 5, 141-150; Andersen (2013), Stat. Med. 32, 5278-5285; Weibull by maximum "
        "likelihood: Lawless (2003), ch. 5.",
        part_life,
        "Of 100 parts you fixed, so many were worked on again by that day.",
        followed="Each life to the end of the window (censored there); the machine leaving competes.",
        asks=("days",),
        line=part_life_line,
    ),
    Measure(
        "repairs-by-age",
        "Repairs a machine has had by an age",
        "repairs a machine, mean",
        "Do machines need us more often as they age?",
        "Fault jobs at each age over the machines under observation at it, added up over the ages from the first with five "
        "machines; machines enter at the age they had when they came under observation. Charges in the same way.",
        "Nelson (1995), Technometrics 37, 147-157; Lawless and Nadeau (1995), Technometrics 37, 158-168.",
        repairs_by_age,
        "By that age a machine has had so many repairs on average, and the line bends up if old machines need you more often.",
        followed="Machines from the age at which they came under observation (delayed entry) to their end or the end of the window.",
        line=repairs_by_age_line,
    ),
    Measure(
        "time-to-fix",
        "Time to fix",
        "hands-on minutes, days without the machine, or visits",
        "How long does a fix take?",
        "Three clocks: hands-on minutes summed over the visits of a fixed job; days from report to working again, open jobs "
        "followed as far as they go; visits per fixed job.",
        "Bootstrap-t by machine: Efron and Tibshirani (1993), ch. 12; Cox interval below 30 jobs, its upper limit "
        "also below 100 where times are very skewed: Olsson (2005).",
        time_to_fix,
        "A job like this took so long on average, and half of them were done within what the column “median” says.",
        followed="Hands-on and visits: finished jobs of the window. Days without the machine: open jobs to the end of the window (censored there); declined, beyond economic repair and referred compete.",
        asks=("clock",),
        line=time_to_fix_line,
    ),
    Measure(
        "fixed-share",
        "Share of jobs that ended fixed",
        "share of jobs with a known outcome",
        "How many jobs end with the machine working?",
        "Fault jobs that ended fixed over fault jobs with a known outcome, and beside it over all fault jobs.",
        "Wilson (1927), JASA 22, 209-212, on the effective sample; by-machine variance: Cochran (1977), Sampling Techniques, 9A.",
        fixed_share,
        "Of 100 jobs that came to an end, so many ended with the machine working.",
        followed="Jobs of the window as they stand; open jobs and unknown outcomes are no part of the share.",
    ),
    Measure(
        "not-fixed-reasons",
        "What stopped the rest",
        "share of jobs not fixed",
        "Why were the others not fixed?",
        "Fault jobs that ended otherwise than fixed, by the reason recorded, as a share of the jobs not fixed.",
        "Wilson (1927), JASA 22, 209-212, on the effective sample; by-machine variance: Cochran (1977), Sampling Techniques, 9A.",
        not_fixed_reasons,
        "Of 100 jobs that did not end with the machine working, so many were stopped by this.",
        followed="Jobs of the window as they stand; open jobs and unknown outcomes are no part of the share.",
    ),
    Measure(
        "first-visit",
        "Done at the first visit",
        "share of jobs ended by the first visit",
        "How many jobs are done at the first visit?",
        "Fault jobs whose first attended visit ended fixed, over those whose first attended visit needed a fix, by its day; "
        "temporary, advised and made safe are not fixed, a job that is still open counts as not done. Strict: no further "
        "attended visit of the job, and no same-fault return within 30 days (--days), machines that leave competing.",
        "Wilson (1927), JASA 22, 209-212, on the effective sample, by machine: Cochran (1977), Sampling Techniques, 9A; Aalen and "
        "Johansen (1978), Scand. J. Stat. 5, 141-150.",
        first_visit,
        "Of 100 jobs that needed a repair, so many were done when you first drove there.",
        followed="First visits of the window; for the strict share each job to the end of the window (censored there), machines that leave competing.",
        asks=("days",),
    ),
    Measure(
        "second-visits",
        "Why a second visit was needed",
        "share of jobs that needed a second visit",
        "Why was the first visit not enough?",
        "Fault jobs that needed a fix and were not ended by their first attended visit, by the reason it gives or, with --by "
        "part_no, by the part that was needed and not there; beside it half of the days from that visit to the finish.",
        "Wilson (1927), JASA 22, 209-212, on the effective sample; by-machine variance: Cochran (1977), Sampling Techniques, 9A.",
        second_visits,
        "Of 100 jobs for which you had to drive a second time, so many had this reason.",
        followed="First visits of the window as they stand.",
    ),
    Measure(
        "no-fault-found",
        "No fault found",
        "share of attended jobs",
        "How often is no fault found, and is the machine reported again?",
        "Fault jobs whose last attended visit found no fault, over attended fault jobs; a cause outside the machine is a "
        "finding. Beside it the probability of a later fault report on the same machine within 30 days (--days, --kind), "
        "machines that leave competing: the fault that did not show itself.",
        "Wilson (1927), JASA 22, 209-212, on the effective sample, by machine: Cochran (1977), Sampling Techniques, 9A; Aalen and "
        "Johansen (1978), Scand. J. Stat. 5, 141-150.",
        no_fault_found,
        "On 100 jobs you found nothing wrong so many times, and the column beside it says how often the machine was reported again all the same.",
        followed="Jobs of the window; for the repeats each job to the end of the window (censored there), machines that leave competing.",
        asks=("days", "kind"),
    ),
    Measure(
        "wrong-part",
        "Another part was the cure",
        "probability that another part cured the same symptom",
        "How often was it another part?",
        "Parts worked on in fault jobs that ended fixed, after which the same symptom was reported again on the machine within "
        "30 days (repeat_days) of the finish and a fix cured it by work on another part and not on this one; machines that "
        "leave compete. By symptom and procedure (machine type, part, action). An outside cause put right is no other part.",
        "Aalen and Johansen (1978), Scand. J. Stat. 5, 141-150; Wilson (1927) on the effective sample.",
        wrong_part,
        "Of 100 repairs of this kind, so many had you back for the same trouble, and work on another part cured it.",
        followed="Each fix to the end of the window (censored there), machines that leave competing.",
    ),
    Measure(
        "procedures",
        "Procedures that do not hold",
        "returns with the same fault within 90 days, observed over expected",
        "Which repairs come back more often than others of their kind?",
        "A procedure is a kind of machine, a part and an action. Expected are the returns that the other procedures with the same "
        "action would have had over the follow-up each job had, itself left out; the reference is their median. Asked is "
        "whether more than half as many again come back, with the false discovery rate held over all procedures looked at.",
        "Breslow and Day (1987), Statistical Methods in Cancer Research II; exact Poisson limits: Garwood (1936); Benjamini and "
        "Hochberg (1995), J. R. Statist. Soc. B 57, 289-300.",
        procedures,
        "A repair at 2 came back twice as often as others of its kind would have over the same time.",
        followed="Each fix for 90 days, or to the end of the window (censored there); expected returns over the time it was followed.",
    ),
    Measure(
        "technicians",
        "Returns by who chose the fix",
        "returns with the same fault within 90 days, observed over expected",
        "Whose fixes come back more often than those of others in the same jobs?",
        "Only with --people, by pseudonym, for 30 jobs or more, in no order of merit. Expected are the returns that all others had "
        "in jobs of the same kind of machine, parts, actions and symptom, over the follow-up each job had. Charged is whoever "
        "chose the fix. One who stands out is taken out of what the others are compared with.",
        "Spiegelhalter (2005), Stat. Med. 24, 1185-1202, for the limits and over-dispersion; Benjamini and Hochberg (1995), step by "
        "step, for who is told.",
        technicians,
        "At 2 the fixes came back twice as often as those of others in the same jobs; most who stand apart in one period do not in the next.",
        followed="Each job for 90 days, or to the end of the window (censored there); expected returns over the time it was followed.",
    ),
    Measure(
        "changes",
        "Worth a look",
        "failures or returns, observed over expected",
        "Has something changed?",
        "Failures of each part on each kind of machine, and same-fault returns within 90 days of each procedure, event by event against "
        "their own past: the first half of the window, two years at most, which does not move on. A chart tells when the sum of "
        "observed less expected goes over a limit drawn by simulation so that all charts together give about one false alarm a "
        "year, what the past leaves open included. Lots: within a model the weeks of making (of installation where that is not known) "
        "in which first failures of a part stand out for the ages of the machines, and weeks of purchase (by the stock list; "
        "else of fitting) from which new parts did not last, chance ruled out over all families looked at. Worth a look, and no more than that.",
        "Page (1954), Biometrika 41, 100-115; Steiner et al. (2000), Biostatistics 1, 441-452; Kulldorff (1997), Commun. Statist. "
        "Theory Meth. 26, 1481-1496; Besag and Clifford (1991), Biometrika 78, 301-304.",
        changes,
        "Each line is a part or a repair that lately failed or came back more often than its own past: look at it before you act on it.",
        followed="Each fix for 90 days, each machine from its entry, to the end of the window (censored there).",
    ),
    Measure(
        "unpaid-hours",
        "Hours nobody pays for",
        "hours per 100 jobs",
        "How many hours does nobody pay for?",
        "Recorded hours on the machine and of travel of visits that nobody pays for, per 100 fault jobs reported: no access; "
        "cancelled at the door (somebody had set out); no fault found and nothing charged; returns under our own guarantee. "
        "A charged missed call, and a visit that a maker or insurer pays for, is paid; a visit counts once.",
        "Bootstrap by machine, 1,000 resamples: Efron and Tibshirani (1993), ch. 13.",
        unpaid_hours,
        "For every 100 jobs, so many hours were worked or driven that nobody paid for.",
        followed="Jobs reported in the window, with the visits they have had so far.",
    ),
    Measure(
        "fix-payoff",
        "What a fix earns after its returns",
        "money an hour, after returns",
        "Which fixes earn, once their returns are counted?",
        "For each part and action in fixed jobs that somebody paid for: charge less the shop's own parts (G), hours on the "
        "machine and of travel (T), probability q of the same fault within the guarantee, and the direct cost (C) and hours "
        "(H) of the whole unpaid chain that one return starts. An hour earns (G - qC) / (T + qH), a ratio of means; a job "
        "G - hT - q(C + hH), h being hour_costs. Parts that the customer or the maker supplied earn nothing. Each payer and "
        "currency stands for itself.",
        "Bootstrap by machine, 1,000 resamples: Efron and Tibshirani (1993), ch. 13; Aalen and Johansen (1978).",
        fix_payoff,
        "An hour spent on this repair earned so much once the returns it caused were paid for.",
        followed="Each fix to the end of the guarantee or of the window (censored there), machines that leave competing.",
    ),
    Measure(
        "clean-or-replace",
        "Clean or replace",
        "money or hours by which cleaning is ahead",
        "Does cleaning pay, or should we just swap it?",
        "Paid jobs in which a part alone was cleaned or freed, against those in which it was replaced, in cells of machine "
        "type, age band, symptom and mechanism where both were done; each job weighs the share of the other side in its cell, "
        "so that both sides are made up alike. Return within the guarantee by the same fault. Verdicts for the firm (a job; an "
        "hour, where the diary is full), for the customer and in hours, each with the return rate at which it turns; none from "
        "fewer than 20 effective jobs a side. A part cleaned again stands apart. Safety parts are replaced. A return that the "
        "customer pays for earns nothing here.",
        "Overlap weights: Li, Morgan and Zaslavsky (2018), JASA 113, 390-400; bootstrap by machine: Efron and Tibshirani (1993), "
        "ch. 13; unseen differences: VanderWeele and Ding (2017), Ann. Intern. Med. 167, 268-274 (from memory).",
        clean_or_replace,
        "Above zero, cleaning came out ahead of a new part in jobs that were alike; where the range holds zero, nobody can tell yet.",
        followed="Each job to the end of the guarantee or of the window (censored there), machines that leave competing.",
    ),
    Measure(
        "outside-causes",
        "Bad installations",
        "share of jobs in which the installation was looked at",
        "What does a bad installation cost?",
        "Attended fault jobs in which the installation was looked at, and the share of them in which each cause outside the "
        "machine was found. Beside it, per job with the cause, what was done for the same symptom on the machine within the "
        "guarantee before: fixes, hours, hours nobody paid for, parts. It came before; whether it was for nothing is not shown.",
        "Wilson (1927), JASA 22, 209-212, on the effective sample; by-machine variance: Cochran (1977), Sampling Techniques, 9A.",
        outside_causes,
        "Of 100 jobs in which somebody looked at the installation, so many had this wrong with it.",
        followed="Jobs reported in the window; before each, as far back as the guarantee runs.",
    ),
    Measure(
        "safety-reports",
        "Safety reports",
        UNIT,
        "Was a danger reported?",
        "Each job whose symptom, finding or note tells of shock, smoke, fire, gas, flood or a burning smell, whatever else the "
        "text says, listed one by one: those within 30 days (repeat_days) of our own last finished visit to the machine first, "
        "then the newest. Rows that are set aside report their danger too.",
        "Listed, not estimated; the words are common practice, no source.",
        safety_reports,
        "Each line is one job in which somebody told of a danger; read every one of them.",
        NO_REPORTS,
        followed="Every report there is; nothing is followed.",
    ),
)
MEASURES: dict[str, Measure] = {measure.name: measure for measure in _ALL}


def evaluate(con: duckdb.DuckDBPyConnection, name: str, question: Question | None = None) -> pl.DataFrame:
    """
    Work out one figure.

    Parameters
    ----------
    con : DuckDBPyConnection
        An open build.
    name : str
        A name in MEASURES.
    question : Question
        Groups, window and choices; the measure's defaults where not given.

    Returns
    -------
    DataFrame
        One row a group: group columns, then value, low, high, numerator, denominator, unit, level, sample, basis,
        note, then what the measure adds.

    Raises
    ------
    CannotAnswerError
        If the data cannot answer: one sentence says what is missing.
    WrongUseError
        If the measure or a group is not known.
    """
    if name not in MEASURES:
        raise WrongUseError(f'There is no measure "{name}"; there are {", ".join(MEASURES)}.')
    if question is not None and question.only and not MEASURES[name].takes_only:
        raise WrongUseError(f"{name} is worked out for all its groups: leave `only` out.")
    result = MEASURES[name].work_out(con.cursor(), question or Question())
    if not result.height and not MEASURES[name].when_none:
        raise CannotAnswerError(
            "Nothing in the window belongs to that figure; give another --from or --complete-to."
        )
    return result if name == "technicians" else people.guarded(result)


def evaluate_line(
    con: duckdb.DuckDBPyConnection,
    name: str,
    question: Question | None = None,
    only: Mapping[str, str] | None = None,
) -> Line:
    """
    Work out one figure as a line to draw.

    Parameters
    ----------
    con, name, question
        As for `evaluate`.
    only : mapping, optional
        Values of group columns: only such groups are drawn.

    Raises
    ------
    CannotAnswerError
        If the data cannot answer.
    WrongUseError
        If the measure is not known or has no line.
    """
    measure = MEASURES.get(name)
    if measure is None or measure.line is None:
        drawn = ", ".join(each.name for each in MEASURES.values() if each.line)
        raise WrongUseError(f'There is no line to draw of "{name}"; there is one of {drawn}.')
    if people.GROUP in (question or Question()).by:
        raise WrongUseError("No line is drawn of a person's work: leave technician out of --by.")
    return measure.line(con.cursor(), question or Question(), only or {})
