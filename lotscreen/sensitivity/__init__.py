"""Findings judged again: without their fold of the lot, with another wear allowance."""

from lotscreen.sensitivity.again import Judged, judged_again
from lotscreen.sensitivity.moves import Move, Sensitivity, Way

__all__ = ["Judged", "Move", "Sensitivity", "Way", "judged_again"]
