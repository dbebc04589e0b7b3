"""One record per figure: what it is called, what it means, how it is worked out."""

from pipeline.measures.question import Question, moment_of
from pipeline.measures.registry import MEASURES, Measure, evaluate
from pipeline.measures.working import Working, evaluate_with_working

__all__ = ["MEASURES", "Measure", "Question", "Working", "evaluate", "evaluate_with_working", "moment_of"]
