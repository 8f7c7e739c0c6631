"""What coins measured twice, and check weights, say of people and instruments."""

from lotscreen.repeats.study import Offset, Repeats, spreads, study_repeats
from lotscreen.repeats.told import repeat_lines, with_repeats

__all__ = ["Offset", "Repeats", "repeat_lines", "spreads", "study_repeats", "with_repeats"]
