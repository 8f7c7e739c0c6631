"""A register of training pieces is read like any sheet; what is wrong is named with its place."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from tray_sets import pieces, small_register

from lotscreen.records import FLAGGED, InputError
from lotscreen.settings import Settings
from lotscreen.standards import load_standards
from lotscreen.tray.judged import judged_pieces
from lotscreen.tray.pieces import hard_from
from lotscreen.tray.register import read_register


def _first_rows(path: Path, **cells: dict[int, str]) -> Path:
    """The first rows of a register, some of their cells changed, as a file."""
    sheet = small_register().iloc[:40].astype(object).reset_index(drop=True)
    for column, changes in cells.items():
        for row, text in changes.items():
            sheet.loc[row, column] = text
    sheet.to_csv(path, index=False)
    return path


def test_a_register_says_what_each_piece_is():
    register = read_register(small_register())
    first, row = register.entries[0], small_register().iloc[0]
    assert (first.piece, first.kind, first.box) == (row["piece"], row["kind"], row["box"])
    assert len(register.entries) == len(small_register())
    honest = sum(entry.honest for entry in register.entries)
    assert honest == (small_register()["status"] == "honest").sum()


def test_headers_in_other_words_and_another_order_are_understood():
    sheet = small_register()
    said = read_register(sheet).entries
    other = sheet.rename(
        columns={"kind": "What it is", "status": "True status", "permission": "Held under",
                 "box": "Drawer", "piece": "Piece No."}
    )  # fmt: skip
    other = other[list(other.columns)[::-1]]
    assert read_register(other).entries == said


@pytest.mark.parametrize(
    ("column", "text", "told"),
    [
        ("status", "perhaps", "'perhaps': write 'honest' or 'not honest'"),
        ("status", "", "'': write 'honest' or 'not honest'"),
        ("kind", "", "say what the piece is"),
        ("box", "", "write the box"),
        ("piece", "", "the piece has no number"),
        ("weight (g)", "", "no weight that can be used"),
        ("weight (g)", "heavy", "'heavy': no weight that can be used"),
    ],
)
def test_a_bad_row_is_named_with_its_place(tmp_path: Path, column: str, text: str, told: str):
    path = _first_rows(tmp_path / "reg.csv", **{column: {0: text}})
    with pytest.raises(InputError) as error:
        read_register(path)
    message = str(error.value)
    assert "reg.csv" in message
    assert "row 2" in message
    assert told in message


def test_all_bad_rows_are_told_at_once(tmp_path: Path):
    path = _first_rows(tmp_path / "reg.csv", status={3: "?", 8: "maybe"}, kind={5: "-"})
    with pytest.raises(InputError) as error:
        read_register(path)
    rows = [line for line in str(error.value).splitlines() if "reg.csv" in line]
    assert [("row 5" in r, "row 7" in r, "row 10" in r) for r in rows] == [
        (True, False, False), (False, True, False), (False, False, True)
    ]  # fmt: skip


def test_a_piece_that_stands_twice_is_refused(tmp_path: Path):
    name = small_register()["piece"].iloc[0]
    path = _first_rows(tmp_path / "reg.csv", piece={7: name})
    with pytest.raises(InputError, match=f"row 9.*{name!r}.*stands in a row above"):
        read_register(path)


def test_a_piece_that_is_not_honest_needs_its_permission(tmp_path: Path):
    sheet = small_register().iloc[:40]
    row = int(np.flatnonzero(sheet["status"] == "not honest")[0])
    path = _first_rows(tmp_path / "reg.csv", permission={row: ""})
    with pytest.raises(InputError, match=rf"row {row + 2}, column permission.*written permission"):
        read_register(path)


def test_a_sheet_without_kinds_is_no_register(tmp_path: Path):
    path = tmp_path / "lot.csv"
    pd.DataFrame({"coin": ["1"], "type": ["US dime"], "weight (g)": ["2.5"]}).to_csv(
        path, index=False
    )
    with pytest.raises(InputError, match=r"lot\.csv: no column 'kind' found among 'coin'"):
        read_register(path)


@pytest.mark.parametrize("column", ["kind", "status", "permission", "box"])
def test_a_column_that_is_not_there_is_told_once(column: str):
    with pytest.raises(InputError, match=f"no column '{column}' found among") as error:
        read_register(small_register().drop(columns=column))
    assert len(str(error.value).splitlines()) == 1


def test_too_few_honest_pieces_are_refused():
    register = read_register(small_register().loc[lambda s: s["status"] == "not honest"])
    with pytest.raises(InputError, match="0 honest pieces; at least 8"):
        judged_pieces(register, load_standards(), Settings())


def test_difficulty_is_evidence_for_the_truth_on_one_scale():
    hardness = {honest: [p.difficulty for p in pieces() if p.honest == honest] for honest in (0, 1)}
    assert all(0 <= d <= 10 for d in hardness[False] + hardness[True])
    by_kind = pd.DataFrame([(p.kind, p.difficulty) for p in pieces()], columns=["kind", "d"])
    mean = by_kind.groupby("kind")["d"].mean()
    assert mean["pewter, right size"] < mean["brass, right weight"] < mean["copper, right weight"]
    assert mean["worn"] < mean["slick"]
    assert mean["worn"] < mean["bent"]


def test_what_no_reading_tells_is_marked_and_not_scored():
    told = {kind: [p for p in pieces() if p.kind == kind] for kind in {p.kind for p in pieces()}}
    assert not any(p.tellable for p in told["tungsten alloy, right weight"])
    assert all(p.tellable for p in told["pewter, right size"])
    assert any(not p.tellable for p in told["light alloy"])
    for piece in pieces():
        if not piece.honest and not piece.tellable:
            assert piece.finding not in FLAGGED
            assert piece.told_by == ""


def test_the_reading_that_tells_is_named():
    for kind, reading in (("brass, right weight", "thickness"), ("cast", "diameter")):
        told = [p.told_by for p in pieces() if p.kind == kind and p.tellable]
        assert np.mean([reading in by for by in told]) > 0.9
    bent = {p.told_by for p in pieces() if p.kind == "bent" and p.finding in FLAGGED}
    assert bent == {"eye: bent"}


def test_a_fifth_of_honest_and_a_third_of_other_pieces_are_hard():
    for honest, share in ((True, 1 / 5), (False, 1 / 3)):
        own = [p for p in pieces() if p.honest == honest and p.tellable and not p.usable]
        hard = np.mean([p.difficulty >= hard_from(pieces(), honest) for p in own])
        assert hard == pytest.approx(share, abs=0.03)
