"""The page itself: style, search and data in one file; it may ask nothing of any network."""

from __future__ import annotations

import json
from datetime import timedelta
from importlib import resources
from pathlib import Path
from typing import Any

from pipeline.measures.symptom_jobs import TOGETHER
from pipeline.plain_words import day
from pipeline.pocket_sheet.cells import Pocket
from pipeline.vocabulary.cautions import AFTER_STOP, AFTER_WORK, GENERAL, STOP, for_work
from pipeline.vocabulary.dangers import danger_rules
from pipeline.vocabulary.nearest import plain
from pipeline.vocabulary.wordings import wordings

OLD_AFTER_DAYS = 92
# Nothing is fetched and nothing is sent, whatever stands in the page.
POLICY = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:"


def page(found: Pocket, vocabulary_folder: Path | None = None) -> str:
    """
    The sheet as one HTML file.

    Parameters
    ----------
    found : Pocket
        What may be on it.
    vocabulary_folder : Path or None
        The shop's own words, which can be typed too.
    """
    data = json.dumps(content(found, vocabulary_folder), ensure_ascii=False, separators=(",", ":"))
    # A text that closes the element early would be read as markup.
    data = data.replace("<", "\\u003c")
    return f"""<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{POLICY}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<title>Pocket sheet</title>
<style>{_part("sheet.css")}</style></head>
<body>
<div id="old" role="alert" hidden></div>
<main id="main"><noscript>This sheet needs JavaScript to search. It asks nothing of any network.</noscript></main>
<div id="print" aria-hidden="true"></div>
<script type="application/json" id="data">{data}</script>
<script>{_part("search.js")}</script>
<script>{_part("sheet.js")}</script>
</body></html>
"""


def content(found: Pocket, vocabulary_folder: Path | None = None) -> dict[str, Any]:
    """Everything that the page's script reads."""
    symptoms = sorted({entry["symptom"] for entry in found.entries})
    kinds = sorted({entry["kind"] for entry in found.entries})
    patterns, no_danger = danger_rules()
    ways = wordings(symptoms, vocabulary_folder)
    texts: list[str] = []
    # The log's end, not the day it was written: the same log gives the same sheet.
    last = found.until - timedelta(days=1)
    return {
        "to": last.isoformat(),
        "until": day(last),
        "old_after_days": OLD_AFTER_DAYS,
        "entries": [{**entry, "cautions": _cautions(entry, texts)} for entry in found.entries],
        "caution_texts": texts,
        "wordings": [[way, meaning] for way, meaning in ways.items()],
        "kind_words": {kind: plain(kind).split() for kind in kinds},
        "general": GENERAL,
        "after_work": list(AFTER_WORK),
        "danger": {"patterns": dict(patterns), "none": no_danger, "stop": STOP, "after": AFTER_STOP},
    }


def _cautions(entry: dict[str, Any], texts: list[str]) -> list[int]:
    """Places of an entry's cautions among all texts, which stand on the page once."""
    parts = [part["name"] for part in entry["parts"]]
    actions = [
        name for part in entry["parts"] for each in part["actions"] for name in each["action"].split(TOGETHER)
    ]
    places = []
    for text in for_work(entry["kind"], parts, actions):
        if text not in texts:
            texts.append(text)
        places.append(texts.index(text))
    return places


def _part(name: str) -> str:
    return resources.files("pipeline.pocket_sheet").joinpath(name).read_text(encoding="utf-8")
