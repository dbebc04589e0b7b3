"""The committed files, read plainly: nothing here knows the pipeline."""

import csv
import math
from datetime import date
from itertools import zip_longest

from sample_logs import standard_files

WORKED = {"clean", "free", "adjust", "repair", "reset", "replace"}
FAULTS = {"fault", "workshop"}


def read(kind):
    with standard_files()[kind].open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def worked_parts(lines):
    """Parts worked on, each with its action; IV-3306 is the older number of IV-3310."""
    return {
        line["part_no"].replace("IV-3306", "IV-3310"): line["action"]
        for line in lines
        if line["part_no"] and line["action"] in WORKED and line["part_status"] in {"", "fitted"}
    }


def day(text):
    return date.fromisoformat(text[:10])


def poisson_tails(observed, expected):
    """P(X <= observed) and P(X >= observed) for a Poisson number."""
    terms = [math.exp(k * math.log(expected) - expected - math.lgamma(k + 1)) for k in range(observed + 1)]
    return math.fsum(terms), 1.0 - math.fsum(terms[:-1])


def with_next(items):
    """Each item with the one after it, the last with None."""
    return zip_longest(items, items[1:])


def share(jobs):
    jobs = list(jobs)
    return sum(jobs) / len(jobs)
