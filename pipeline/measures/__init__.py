"""One record per figure: what it is called, what it means, how it is worked out."""

from pipeline.measures.question import Question, moment_of
from pipeline.measures.registry import MEASURES, Measure, evaluate

__all__ = ["MEASURES", "Measure", "Question", "evaluate", "moment_of"]
