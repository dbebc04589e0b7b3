"""Files as firms could write them, drawn with a seed: headers that stand on no list, habits of each kind, and the truth beside them."""

from __future__ import annotations

import csv
import json
import random
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from pathlib import Path

import xlsxwriter

from pipeline.recognition.header_words import is_listed, scores
from pipeline.vocabulary import in_language
from sample_logs.exports import words
from sample_logs.exports.people import person
from sample_logs.exports.visits import visits_of
from tests.recognition.other_headers import OTHER

Ways = dict[str, dict[str, list[str]]]  # headers, by language and standard column
# Columns of each kind of file; in brackets of chance: left out by some firms.
LINE = ("job_id", "job_kind", "visit_no", "return_of", "unit_id", "unit_type", "make", "model", "serial", "site_id", "site_kind", "reported_at",
        "finished_at", "hands_on_min", "symptom", "finding", "part_no", "part_name", "part_status", "quantity", "action", "charge", "payer", "outcome")  # fmt: skip
AMERICAN = (*LINE[:12], "booked_for", "started_at", "finished_at", "hands_on_min", "travel_min", "technician", "symptom", "fault_code", "finding",
            "mechanism", "cause", "part_no", "part_name", "part_source", "quantity", "part_cost", "action", "charge", "callout_charge", "labour_charge",
            "part_charge", "payer", "outcome")  # fmt: skip
VISIT = ("unit_type", "make", "site_kind", "reported_at", "booked_for", "finished_at", "hands_on_min", "technician", "symptom", "part_no", "part_name", "action", "outcome")  # fmt: skip
OPTIONAL = frozenset(("job_kind", "return_of", "site_kind", "booked_for", "make", "part_status", "part_source", "payer", "cause", "mechanism", "travel_min", "fault_code"))  # fmt: skip
SEEDS_OF_DOUBT = (11, 12)
STYLES = ("german", "american", "visits", "sheets", "notebook", "french 1252", "json")
IDENTITIES = ("unit_id", "serial", "site_id", "technician")
MOMENTS = ("reported_at", "booked_for", "started_at", "finished_at")


@dataclass
class Drawn:
    """A file, what each of its columns is ("" or "no:…" for none), and the standard rows that its rows tell."""

    path: Path
    style: str
    truth: dict[str, str]
    rows: list[dict[str, str]]
    days_only: bool = False
    sections: dict[str, str] = field(default_factory=dict)
    parts_together: bool = False


def draw(style: str, seed: int, rows: list[dict[str, str]], folder: Path, ways: Ways = OTHER) -> Drawn:
    """Write one file of a style, with headers by language and column."""
    rng = _Rng(f"{style}{seed}")
    rng.ways = ways
    return _WRITERS[style](rng, rows, folder / f"{style.replace(' ', '-')}-{seed}")


class _Rng(random.Random):
    """Chance, with the headers it may draw."""

    ways: Ways


def headers(rng, language, columns):
    """A header for each column, none of them twice and none on the list."""
    taken, chosen = set(), {}
    for column in columns:
        ways = [way for way in rng.ways[language][column] if way not in taken and not is_listed(way)]
        chosen[column] = rng.choice(ways)
        taken.add(chosen[column])
    return chosen


def invented(seed: int) -> Ways:
    """Headers that are no words at all: what stands in the columns has to say everything."""
    rng = random.Random(seed)
    taken: set[str] = set()

    def word():
        while True:
            said = "".join(rng.choice("bdfgklmnprstvz") + rng.choice("aeiou") for _ in range(3)).capitalize()
            if said not in taken and not scores(said):
                taken.add(said)
                return said

    return {language: {column: [word()] for column in columns} for language, columns in OTHER.items()}


def some(rng, columns):
    kept = [column for column in columns if column not in OPTIONAL or rng.random() < 0.7]
    if rng.random() < 0.5:
        # Another order: neighbours change places, as in a table that grew.
        at = rng.randrange(len(kept) - 1)
        kept[at], kept[at + 1] = kept[at + 1], kept[at]
    return kept


OWN_WORDS = {"de": in_language("german")["means"], "fr": in_language("french")["means"], "en": {}}


def written(rng, column, row, language="en", *, moment, minutes, money):
    """A standard value as this firm writes it."""
    value = row[column]
    if not value:
        return ""
    if column in MOMENTS:
        return moment(datetime.fromisoformat(value))
    if column in ("hands_on_min", "travel_min"):
        return minutes(int(value))
    if column == "charge" or column.endswith(("_cost", "_charge")):
        return money(Decimal(value))
    return in_words(rng, column, value, language)


def in_words(rng, column, value, language):
    """A standard value in one of the firm's words."""
    own = OWN_WORDS[language].get(column, {}).get(value)
    if own:
        return rng.choice(own)
    ways = {
        "unit_type": words.kind,
        "symptom": words.symptom,
        "outcome": words.outcome,
    }.get(column)
    if ways:
        return ways(rng, value)
    return {"action": words.ACTIONS, "payer": words.PAYERS, "part_status": words.STATES}.get(column, {}).get(
        value, value
    )


def people(rng, row, columns):
    who = person(row["site_id"])
    said = {"no:name": who.name, "no:telephone": who.telephone, "no:email": f"{who.name.split()[0].lower()}{row['site_id'][-3:]}@post.example",
            "no:street": f"{int(row['site_id'][-3:]) % 140 + 1} {who.name.split()[1]} Road"}  # fmt: skip
    return {column: said[column] for column in columns}


def comma(amount):
    return f"{amount:,.2f}".translate(str.maketrans({",": ".", ".": ","}))


def _line_file(rng, rows, language, columns, extra, **how):
    names = headers(rng, language, [*columns, *extra])
    table = []
    for row in rows:
        cells = {column: written(rng, column, row, language, **how) for column in columns} | people(
            rng, row, extra
        )
        table.append([cells[column] for column in names])
    return names, table


def _save(path, names, table, delimiter, encoding, *, title=()):
    with path.open("w", encoding=encoding, newline="") as file:
        writer = csv.writer(file, delimiter=delimiter)
        writer.writerows([*title, list(names.values()), *table])


def _german(rng, rows, path):
    columns = [column for column in some(rng, LINE) if column in OTHER["de"]]
    path = path.with_suffix(".csv")
    clock = rng.random() < 0.5
    how = {
        "moment": lambda at: f"{at:%d.%m.%Y %H:%M}" if clock else f"{at:%d.%m.%Y}",
        "minutes": lambda n: f"{n // 60}:{n % 60:02d}" if clock else f"{n} min",
        "money": lambda amount: comma(amount) + (" €" if clock else ""),
    }
    names, table = _line_file(rng, rows, "de", columns, ("no:name", "no:telephone"), **how)
    title = [["Ein Jahr Kundendienst"], []] if rng.random() < 0.5 else []
    table.append(["Summe", *[""] * (len(names) - 1)])
    _save(path, names, table, ";", rng.choice(("utf-8", "utf-8-sig")), title=title)
    return Drawn(path, "german", _truth(names), rows, days_only=not clock)


def _american(rng, rows, path):
    columns, path = some(rng, AMERICAN), path.with_suffix(".csv")
    how = {
        "moment": lambda at: f"{at.month}/{at.day}/{at:%Y} {at:%I:%M %p}",
        "minutes": str,
        "money": lambda amount: f"${amount:,.2f}",
    }
    names, table = _line_file(
        rng, rows, "en", columns, ("no:name", "no:telephone", "no:email", "no:street"), **how
    )
    _save(path, names, table, rng.choice((",", "\t")), "utf-8")
    return Drawn(path, "american", _truth(names), rows)


def _visit_rows(rows):
    """One row a visit; works beside each other as in the exports of the sample."""
    told = []
    for visit in visits_of(rows):
        row = dict(visit.fields)
        row["symptom"] = visit.first("symptom")
        for column in ("part_no", "part_name"):
            row[column] = " + ".join(line.row[column] for line in visit.worked)
        row["action"] = " + ".join(words.ACTIONS.get(line.row["action"], "") for line in visit.told)
        told.append(row)
    return told


def _visits(rng, rows, path):
    columns, path = some(rng, VISIT), path.with_suffix(".csv")
    rows = _visit_rows(rows)
    two = rng.random() < 0.5
    how = {
        "moment": lambda at: f"{at:%d/%m/%y}" if two else f"{at:%d/%m/%Y}",
        "minutes": str,
        "money": str,
    }
    names, table = _line_file(rng, rows, "en", columns, ("no:name", "no:telephone"), **how)
    _save(path, names, table, ";", "utf-8")
    return Drawn(path, "visits", _truth(names), rows, days_only=True, parts_together=True)


def _sheets(rng, rows, path):
    columns, path = some(rng, LINE), path.with_suffix(".xlsx")
    how = {"moment": lambda at: at, "minutes": int, "money": float}
    names = headers(rng, "en", columns)
    crew = sorted({row["technician"] for row in rows if row["technician"]})
    called = dict(
        zip(
            crew,
            rng.sample(
                ("Ada", "Bo", "Cem", "Dilys", "Edda", "Finn", "Gus", "Hedy", "Ivo", "Jory", "Kit", "Lune"),
                len(crew),
            ),
            strict=True,
        )
    )
    told = []
    with xlsxwriter.Workbook(path) as book:
        day = book.add_format({"num_format": "yyyy-mm-dd hh:mm"})
        for name in crew:
            sheet = book.add_worksheet(called[name])
            mine = [row for row in rows if row["technician"] == name]
            told += mine
            sheet.write_row(0, 0, list(names.values()))
            for n, row in enumerate(mine, start=1):
                for at, column in enumerate(columns):
                    cell = written(rng, column, row, **how)
                    if isinstance(cell, datetime):
                        sheet.write_datetime(n, at, cell, day)
                    elif cell != "":
                        sheet.write(n, at, cell)
    return Drawn(path, "sheets", _truth(names), told)


SECTIONS = (
    "job_id",
    "unit_type",
    "make",
    "unit_id",
    "reported_at",
    "symptom",
    "finding",
    "action",
    "hands_on_min",
    "outcome",
)


def _notebook(rng, rows, path):
    path = path.with_suffix(".csv")
    visits = [visit for visit in visits_of(rows) if visit.fields["finished_at"]]
    named = headers(rng, "en", SECTIONS)
    entries, told = [], []
    for visit in visits:
        row = dict(visit.fields)
        row["symptom"] = visit.first("symptom")
        row["finding"] = "; ".join(line.row["finding"] for line in visit.told if line.row["finding"])
        works = "; ".join(
            f"{words.ACTIONS[line.row['action']]} {line.row['part_name']} {line.row['part_no']}".strip()
            for line in visit.told
            if line.row["action"]
        )
        said = {column: row[column] for column in SECTIONS} | {
            "action": works,
            "hands_on_min": f"{row['hands_on_min']} min" if row["hands_on_min"] else "",
        }
        said["reported_at"] = f"{datetime.fromisoformat(row['reported_at']):%d.%m.%Y}"
        who = person(row["site_id"])
        text = " ".join(f"{named[column]}: {said[column]}." for column in SECTIONS if said[column])
        entries.append(
            [f"{datetime.fromisoformat(row['finished_at']):%d.%m.%Y}", f"{who.name}, {who.telephone}. {text}"]
        )
        told.append(row)
    head = rng.choice((("Day", "Scribble"), ("When", "What went on")))
    _save(path, dict(enumerate(head)), entries, rng.choice((",", ";")), "utf-8")
    truth = {head[0]: "finished_at", head[1]: "record"}
    return Drawn(
        path,
        "notebook",
        truth,
        told,
        days_only=True,
        sections={word: column for column, word in named.items()},
        parts_together=True,
    )


def _french(rng, rows, path):
    columns = [column for column in some(rng, LINE) if column in OTHER["fr"]]
    path = path.with_suffix(".txt")
    how = {
        "moment": lambda at: f"{at:%d/%m/%Y %Hh%M}",
        "minutes": lambda n: f"{n // 60}h{n % 60:02d}",
        "money": lambda amount: f"{comma(amount).replace('.', ' ')} €",
    }
    names, table = _line_file(rng, rows, "fr", columns, ("no:name", "no:telephone"), **how)
    _save(path, names, table, rng.choice(("\t", ";", "|")), "cp1252")
    return Drawn(path, "french 1252", _truth(names), rows)


def _json(rng, rows, path):
    path = path.with_suffix(".jsonl")
    columns = some(rng, AMERICAN)
    names = {
        column: name.lower().replace(" ", "_").strip("._")
        for column, name in headers(rng, "en", [*columns, "no:name", "no:telephone"]).items()
    }
    how = {"moment": lambda at: at.isoformat(), "minutes": int, "money": float}
    with path.open("w", encoding="utf-8") as file:
        for row in rows:
            cells = {column: written(rng, column, row, **how) for column in columns} | people(
                rng, row, ("no:name", "no:telephone")
            )
            file.write(
                json.dumps(
                    {names[column]: cell if cell != "" else None for column, cell in cells.items()},
                    ensure_ascii=False,
                )
                + "\n"
            )
    return Drawn(path, "json", _truth(names), rows)


def _truth(names):
    return {header: column for column, header in names.items()}


_WRITERS = {"german": _german, "american": _american, "visits": _visits, "sheets": _sheets, "notebook": _notebook, "french 1252": _french, "json": _json}  # fmt: skip
