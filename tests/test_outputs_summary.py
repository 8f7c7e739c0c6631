"""The result of a run fits one screen, counts what it cannot show, and steers no terminal."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from outputs_lot import mixed
from report_lot import invented

from lotscreen.report.screen_lines import WIDTH, clean, listing, shown_width, wrap
from lotscreen.report.summary_text import HEIGHT, summary_text
from lotscreen.screening import Screening

FILES = ["Written to reports/lot-0123456789ab/", "  report.pdf coins.csv lot.json"]


def _screen(screening: Screening) -> list[str]:
    return summary_text(screening, "1.2.3", FILES).splitlines()


def _fits(lines: list[str]) -> bool:
    return len(lines) <= HEIGHT and all(shown_width(line) <= WIDTH for line in lines)


def test_a_lot_is_told_on_one_screen() -> None:
    lines = _screen(invented(400))
    assert _fits(lines)
    text = " ".join(line.strip() for line in lines)
    for part in (
        "Read 430 rows = 400 used + 30 left out (left_out.csv): 400 coins.",
        "25 entries in doubt",
        "consistent, 6 to re-measure, 5 set aside, 3 not consistent, 2 not judged",
        "1 honest coin in 500",
        "Of 8 coins set aside or not consistent, about 3 are probably honest.",
        "Back on the scale (6): roll 1: 20; roll 2:",
        "Pull, set aside (5):",
        "Pull, not consistent (3):",
        "Read like US half dollar, 40 % silver (31): roll 1: 1-20; roll 2: 1-11",
        "353.12 oz t of silver",
        "! The balance failed a check",
        "Written to reports/lot-0123456789ab/",
    ):
        assert part in text


def test_groups_to_open_are_named() -> None:
    made = mixed()
    (line,) = [line for line in _screen(made) if line.startswith("Open")]
    assert line == "Open, not as its coins should be (1): K-01 roll 1 (weight)"
    quiet = {
        name: replace(
            lot,
            group_statements=tuple(replace(g, finding="consistent") for g in lot.group_statements),
        )
        for name, lot in made.lots.items()
    }
    assert not [line for line in _screen(replace(made, lots=quiet)) if line.startswith("Open")]


def test_a_type_with_a_long_name_is_told_by_its_key() -> None:
    made = invented(400)
    (other,) = made.lots[""].other_types
    long = replace(other, other_name="a name in more words than one line of a screen can bear")
    text = "\n".join(_screen(replace(made, lots={"": replace(made.lots[""], other_types=(long,))})))
    assert "Read like us-half-1965 (31): roll 1: 1-20; roll 2: 1-11" in text


@pytest.mark.parametrize("coins", [2000, 40_000])
def test_a_large_lot_still_fits_and_counts_the_rest(coins: int) -> None:
    lines = _screen(invented(coins))
    assert _fits(lines)
    assert "more, see coins.csv" in "\n".join(lines)


def test_many_lots_with_long_alerts_still_fit() -> None:
    made = invented(60, tuple(f"K-{number:02}" for number in range(40)))
    lots = {
        name: replace(lot, alerts=(f"{name} " + "so it is told at length " * 9,) * 3)
        for name, lot in made.lots.items()
    }
    lines = _screen(replace(made, lots=lots))
    assert _fits(lines)
    text = "\n".join(lines)
    assert "Lots, most in doubt first: K-" in text
    assert "more, see report.pdf" in text
    assert "! and " in text
    for label in ("Back on the scale (", "Pull, not consistent (", "Pull, set aside (", "Fine"):
        assert label in text


def test_every_coin_is_shown_or_counted() -> None:
    made = invented(2000)
    for lines in (1, 2, 3, 4):
        entries = [(f"roll {n // 20}", str(n)) for n in range(0, 2000, 7)]
        text = " ".join(listing(lambda places: f"Pull: {places}", entries, lines))
        shown, _, rest = text.partition("; and ")
        numbers = [mark for part in shown.split(";") for mark in part.rpartition(":")[2].split(",")]
        assert len(numbers) + int(rest.split()[0].replace(",", "")) == len(entries)
    assert len(made.lots) == 1


def test_runs_of_numbers_are_told_as_such() -> None:
    entries = [("roll 1", str(n)) for n in (1, 2, 3, 7, 8)] + [("roll 9", "A4"), ("roll 1", "12")]
    (line,) = listing(lambda places: places, entries, 1)
    assert line == "roll 1: 1-3, 7, 8, 12; roll 9: A4"


def test_coins_without_roll_or_position_go_by_their_number() -> None:
    made = invented(400)
    items = made.intake.items.assign(group="", position=None)
    intake = replace(made.intake, items=items)
    marked = made.findings.finding == "not consistent"
    ids = items["coin_id"].to_numpy()[marked]
    assert f"Pull, not consistent (3): {', '.join(ids)}" in "\n".join(
        _screen(replace(made, intake=intake))
    )


def test_a_lot_with_nothing_to_do_is_told_in_few_lines() -> None:
    made = mixed()
    lot = replace(made.lots["K-01"], alerts=(), other_types=(), fine_ounces={}, counts={})
    finding = made.findings.finding.copy()
    finding[finding != ""] = "consistent"
    quiet = replace(
        made,
        lots={"": lot},
        findings=replace(made.findings, finding=finding),
        intake=replace(made.intake, doubts=()),
    )
    text = "\n".join(_screen(quiet))
    assert "118 consistent" in text
    assert not any(word in text for word in ("Pull", "Back", "Of ", "doubt", "set aside", "!"))


@given(st.text(max_size=300), st.integers(1, 4))
def test_whatever_a_cell_holds_keeps_width_and_height(text: str, lines: int) -> None:
    rows = wrap(clean(text), lines)
    assert len(rows) <= lines
    assert all(shown_width(row) <= WIDTH for row in rows)
    assert all(sign.isprintable() or sign == "\u3000" or sign.isspace() for r in rows for sign in r)


def test_signs_that_steer_a_terminal_are_replaced() -> None:
    assert clean("a\x1b[2Jb\u202ec\nd") == "a?[2Jb?c?d"
    made = invented(60)
    items = made.intake.items.assign(group="\x1b]0;x\x07", coin_id="\x9b31m")
    text = summary_text(replace(made, intake=replace(made.intake, items=items)), "1", FILES)
    assert not {"\x1b", "\x07", "\x9b"} & set(text)


def test_a_number_that_two_lots_share_is_told_of_its_own_lot_only() -> None:
    made = invented(60, ("K-01", "K-02"))
    ids = made.intake.items["coin_id"].to_numpy(dtype=object)
    rows = made.intake.items["lot"].to_numpy(dtype=object)
    number = str(ids[rows == "K-02"][0])
    items = made.intake.items.copy()
    items.loc[np.flatnonzero(rows == "K-01")[0], "coin_id"] = number
    lots = {
        name: replace(
            lot, other_types=tuple(replace(o, coin_ids=(number,)) for o in lot.other_types)
        )
        for name, lot in made.lots.items()
    }
    lots["K-01"] = replace(lots["K-01"], other_types=())
    told = _screen(replace(made, intake=replace(made.intake, items=items), lots=lots))
    (line,) = [line for line in told if line.startswith("Read like")]
    assert "(1): K-02" in line
    assert "K-01" not in line
