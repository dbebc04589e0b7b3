"""One record per figure: what it is called, what it means, how it is worked out."""

from pipeline.measures.lines import Line
from pipeline.measures.question import Question, moment_of
from pipeline.measures.registry import MEASURES, Measure, evaluate, evaluate_line
from pipeline.measures.working import Working, evaluate_with_working

__all__ = [
    "MEASURES",
    "Line",
    "Measure",
    "Question",
    "Working",
    "evaluate",
    "evaluate_line",
    "evaluate_with_working",
    "moment_of",
]
