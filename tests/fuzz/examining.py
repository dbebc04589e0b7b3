"""Many mutated files examined together; where something breaks, one by one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.fuzz.cases import Case
from tests.fuzz.checks import what_is_wrong
from tests.fuzz.taking import Outcome, only_read, outcomes, whole_load

WHOLE_EVERY = 20  # one file of so many goes through a whole load as well
Take = Callable[[Path, Sequence[Case]], list[Outcome]]


def examined(cases: Sequence[Case]) -> tuple[list[str], Counter[tuple[str, str]]]:
    """What is wrong with the outcomes of some files, and how many of each form were loaded or refused."""
    found = _taken(outcomes, cases)
    wholes = [case for case in cases if case.seed % WHOLE_EVERY == 0]
    found += [each for case in wholes for each in _taken(_whole, [case])]
    wrong = [each for each in found if isinstance(each, str)]
    counts: Counter[tuple[str, str]] = Counter()
    for outcome in found:
        if isinstance(outcome, Outcome):
            wrong += [f"{outcome.case.what}: {each}" for each in what_is_wrong(outcome)]
            counts[outcome.case.sample.form, "loaded" if outcome.refused is None else "refused"] += 1
    return wrong, counts


def only_read_through(cases: Sequence[Case]) -> tuple[list[str], int]:
    """What is wrong with the outcomes of files that are only read, and how many were kept."""
    found = _taken(only_read, cases)
    wrong = [each for each in found if isinstance(each, str)]
    read = [each for each in found if isinstance(each, Outcome)]
    wrong += [f"{each.case.what}: {words}" for each in read for words in what_is_wrong(each)]
    return wrong, sum(each.refused is None for each in read)


def _whole(folder: Path, cases: Sequence[Case]) -> list[Outcome]:
    return [whole_load(folder, case) for case in cases]


def _taken(take: Take, cases: Sequence[Case]) -> list[Outcome | str]:
    try:
        with TemporaryDirectory() as folder:
            return list(take(Path(folder), cases))
    except KeyboardInterrupt:
        raise
    except BaseException as error:  # noqa: BLE001  a panic of a library and an alarm are none of the ordinary errors
        if len(cases) == 1:
            return [f"{cases[0].what}: ends in {type(error).__name__}: {str(error)[:500]} ({_where(error)})"]
    # The others of the batch are not to blame.
    return [each for case in cases for each in _taken(take, [case])]


def _where(error: BaseException) -> str:
    at, places = error.__traceback__, []
    while at is not None:
        places.append(f"{Path(at.tb_frame.f_code.co_filename).name}:{at.tb_lineno}")
        at = at.tb_next
    return " ".join(places[-6:])
