"""Numbers in rolls: when a column of numbers is the place in the roll, and when it is not."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd
import pytest

from lotscreen.intake import read_frame


def _read(numbers: Sequence[tuple[str, str]], lots: Sequence[str] = ()) -> pd.DataFrame:
    frame = pd.DataFrame(numbers, columns=["roll", "no"])
    frame["weight_g"] = [f"12.{30 + row}" for row in range(len(frame))]
    if lots:
        frame["lot"] = list(lots)
    return read_frame(frame).items


DRAWN = [("14", "8"), ("14", "17"), ("15", "12"), ("17", "3"), ("19", "1"), ("25", "10")]


@pytest.mark.parametrize(
    ("rows", "places"),
    [
        pytest.param(DRAWN, [8, 17, 12, 3, 1, 10], id="drawn, no number twice"),
        pytest.param([*DRAWN, ("26", "3")], [8, 17, 12, 3, 1, 10, 3], id="drawn, one twice"),
        pytest.param([("7", "12")], [12], id="one coin"),
        pytest.param([("1", "1"), ("1", "3"), ("1", "9")], [1, 3, 9], id="one roll with gaps"),
        pytest.param(
            [("1", "1"), ("1", ""), ("1", "9"), ("2", "1"), ("2", "2")],
            [1, None, 9, 1, 2],
            id="one left blank",
        ),
        pytest.param(
            [("1", "1"), ("1", "2"), ("2", "3"), ("2", "4"), ("3", "5"), ("3", "6")],
            [1, 2, 1, 2, 1, 2],
            id="numbers run on: counted",
        ),
        pytest.param(
            [("1", "1"), ("1", "2"), ("2", "3"), ("2", "2"), ("3", "5"), ("3", "6")],
            [1, 2, 1, 2, 1, 2],
            id="numbers run on but for a slip: counted",
        ),
        pytest.param([("1", ""), ("1", ""), ("2", "")], [1, 2, 1], id="none: counted"),
        pytest.param([("1", "A17"), ("1", "B2")], [None, None], id="names: not counted"),
    ],
)
def test_the_place_in_a_roll_is_what_is_written(
    rows: list[tuple[str, str]], places: list[int | None]
) -> None:
    found = _read(rows)["position"].tolist()
    assert [None if place != place else place for place in found] == places


def test_lots_that_both_count_from_one_share_no_numbers() -> None:
    rows = [("1", "1"), ("1", "2"), ("2", "7"), ("3", "1"), ("3", "2"), ("4", "9")]
    items = _read(rows, ["K-01"] * 3 + ["K-02"] * 3)
    assert items["position"].tolist() == [1, 2, 7, 1, 2, 9]
    assert items["coin_id"].tolist() == ["1", "2", "7", "1", "2", "9"]


def test_a_place_that_stands_twice_is_doubted_and_moves_no_other() -> None:
    rows = [(roll, str(n)) for roll in ("1", "2") for n in (1, 3, 4, 8, 4)]
    frame = pd.DataFrame(rows, columns=["roll", "no"]).assign(weight_g="12.40")
    intake = read_frame(frame)
    assert intake.items["position"].tolist() == [1, 3, 4, 8, 4] * 2
    assert [(d.row, d.column, d.raw, d.kind) for d in intake.doubts] == [
        (6, "no", "4", "number twice"),
        (11, "no", "4", "number twice"),
    ]


def test_many_places_that_stand_twice_are_one_doubt() -> None:
    rows = [(roll, str(n)) for roll in ("1", "2") for n in [*range(1, 21)] * 2]
    frame = pd.DataFrame(rows, columns=["roll", "no"]).assign(weight_g="12.40")
    (doubt,) = read_frame(frame).doubts
    assert "40 rows" in doubt.why


def test_a_roll_is_filled_down_in_its_lot_only_and_told_in_the_report_on_it() -> None:
    rolls = ["1", "", "", "", "", "", "9", ""]
    frame = pd.DataFrame({"lot": ["K-01"] * 3 + ["K-02"] * 5, "roll": rolls, "weight_g": "12.40"})
    intake = read_frame(frame)
    assert intake.items["group"].tolist() == ["1", "1", "1", "", "", "", "9", "9"]
    told = {str(doubt.item_id): doubt.why for doubt in intake.doubts}
    ids = intake.items["item_id"].tolist()
    assert set(told) == {ids[1], ids[7]}
    assert "rows 3 to 4 are filled with '1' from row 2" in told[ids[1]]
