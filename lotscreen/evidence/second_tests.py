"""The register of second tests: what would tell an explanation from its rivals.

A second test is of another kind than the readings taken; weighing again on the same
balance checks the reading and is none. Adding one is one line, and its words in the words
room. Which test tells what is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SecondTest:
    """One test: ``key`` of its words, and the explanations it tells from the others."""

    key: str
    tells: frozenset[str]


TESTS: list[SecondTest] = [
    SecondTest("look_at_wear", frozenset({"wear", "more_wear"})),
    SecondTest("look_at_surface", frozenset({"dirt", "holed", "mount_removed"})),
    SecondTest("thickness_at_rim", frozenset({"damage"})),
    SecondTest("check_weight", frozenset({"scale_error"})),
    SecondTest(
        "water_density",
        frozenset({"same_size", "same_weight", "light_and_thick", "cast_other_metal", "unnamed"}),
    ),
    SecondTest("edge_and_surface", frozenset({"cast", "filed"})),
    SecondTest("diameter_both_ways", frozenset({"clipped"})),
    SecondTest("conductivity", frozenset({"lighter_alloy"})),
    SecondTest("standard_of_other", frozenset({"other_type"})),
]
_OTHERWISE = "re_measure"


def telling_test(explanation: str) -> str:
    """Key of the first test that tells ``explanation``; a slip is told by measuring again."""
    return next((t.key for t in TESTS if explanation in t.tells), _OTHERWISE)
