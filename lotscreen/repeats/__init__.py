"""What coins measured twice, and check weights, say of people and instruments."""

from lotscreen.repeats.study import Offset, Repeats, spreads, study_repeats
from lotscreen.repeats.told import (
    offset_figures,
    repeat_lines,
    repeatability_line,
    with_repeats,
)

__all__ = [
    "Offset",
    "Repeats",
    "offset_figures",
    "repeat_lines",
    "repeatability_line",
    "spreads",
    "study_repeats",
    "with_repeats",
]
