"""What this screen can see is said of the readings that were taken, and of no others."""

from __future__ import annotations

import pandas as pd
import pytest

from lotscreen import screen
from lotscreen.display import TypeDisplay
from lotscreen.report.figures.sight import sight


def display(*read: str) -> TypeDisplay:
    """Twelve halves with a weight and the lengths named."""
    rows = [
        {
            "coin_id": n,
            "type": "US half dollar",
            "date": 1930 + n,
            "weight_g": round(12.3 + n / 100, 2),
            "diameter_mm": 30.58,
            "thickness_mm": round(2.1 + n / 200, 2),
        }
        for n in range(12)
    ]
    columns = ["coin_id", "type", "date", "weight_g", *read]
    (one,) = screen(pd.DataFrame(rows)[columns]).displays[""]
    return one


@pytest.mark.parametrize(
    ("read", "said"),
    [
        ((), ["weight only"]),
        (("diameter_mm",), ["weight only", "weight, diameter"]),
        (("thickness_mm",), ["weight only", "weight, thickness"]),
        (("diameter_mm", "thickness_mm"), ["weight only", "weight, diameter, thickness"]),
    ],
)
def test_a_line_for_each_set_of_readings_taken(read: tuple[str, ...], said: list[str]) -> None:
    shown = display(*read)
    assert [line.readings for line in shown.sight_lines] == said
    picture = sight(shown)
    assert picture is not None
    assert ("all readings" in picture.caption) == ("all readings" in picture.alt) == bool(read)
    for mark in shown.sight_marks:
        assert (mark.chance_all == mark.chance_weight_only) or read


def test_more_readings_see_more() -> None:
    weighed, measured = display(), display("diameter_mm", "thickness_mm")
    brass = [next(m for m in one.sight_marks if "brass" in m.name) for one in (weighed, measured)]
    assert brass[0].chance_weight_only == pytest.approx(brass[1].chance_weight_only, abs=0.05)
    assert brass[1].chance_all >= brass[0].chance_all
