"""Sheets drawn at random: whatever is in them, no row is lost and no cell altered."""

from __future__ import annotations

import datetime as dt
from collections import Counter

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lotscreen.intake.books import intake_of
from lotscreen.intake.grid import Book, Sheet, cell_text
from lotscreen.intake.options import ReadOptions, checked
from lotscreen.intake.years import with_year_doubts
from lotscreen.records import InputError, Intake
from lotscreen.repeats import with_repeats
from lotscreen.standards import load_standards

HEADERS = (
    "no", "coin_id", "Coin", "type", "Denom", "date", "Jahr", "weight_g", "Wt(g)", "Gewicht",
    "poids", "W", "gross weight", "tare", "D (mm)", "Durchm.", "D min", "D max", "T", "Dicke",
    "count", "Roll", "lot", "Los", "by", "balance", "time", "Remark", "weight_2_g", "SG", "kind",
    "gr", "", "weight (grains)", "item_id", "Wt by A", "(g)", "mm",
)  # fmt: skip
WORDS = (
    "US half dollar", "US dime", "sovereign", '"', "do.", "n/a", "-", "", "Total", "Subtotal",
    "check 20.00", "bag 1", "Roll 2", "HALF DOLLARS", "1891-S", "1891", "18991", "n.d.", "K-01",
    "12.41", "12,41", "1.234,5", "12.4l", "12 1/2", "412½", "<2", "≈12.4", "12.5 gr", "17.2 dwt",
    "2.45 g", "#REF!", "=A1", "999", "0", "1e5", "inf", "nan", "3 coins", "reference piece",
    "\u00a012.4", "1876/5", "A", "'12.4", "12.4*", "x" * 200, "🪙", "Ａ１", "\n", "a\tb",
)  # fmt: skip
numbers = st.one_of(
    st.floats(0.01, 60, allow_nan=False).map(lambda v: round(v, 2)),
    st.integers(1, 3000).map(float),
    st.floats(allow_nan=True, allow_infinity=True),
)
cells = st.one_of(
    st.sampled_from(WORDS),
    numbers,
    st.none(),
    st.booleans(),
    st.dates(dt.date(1600, 1, 1), dt.date(2100, 1, 1)),
    st.text(max_size=12),
)
good_cells = st.one_of(numbers, st.sampled_from(WORDS[:20]))


@st.composite
def sheets(draw: st.DrawFn) -> Sheet:
    """A title or none, a header of one row or two, rows of all lengths, perhaps a second
    table below."""
    rows: list[list[object]] = [[draw(st.sampled_from(WORDS))]] if draw(st.booleans()) else []
    for _ in range(draw(st.integers(1, 2))):
        header = draw(st.lists(st.sampled_from(HEADERS), min_size=1, max_size=8))
        rows.append([*header, *(["weight_g"] if draw(st.booleans()) else [])])
        if draw(st.integers(0, 5)) == 0:
            rows.append(
                draw(st.lists(st.sampled_from(("", "(g)", "mm", "min", "max")), max_size=8))
            )
        kind = draw(st.sampled_from((cells, good_cells)))
        rows += draw(st.lists(st.lists(kind, max_size=len(header) + 2), max_size=14))
    return Sheet(draw(st.sampled_from(("Lot", "two", "a!b"))), rows)


@st.composite
def books(draw: st.DrawFn) -> tuple[Book, ...]:
    found = draw(st.lists(st.lists(sheets(), min_size=1, max_size=2), min_size=1, max_size=2))
    return tuple(
        Book(
            f"{n}.xlsx", f"{n:064x}", tuple(Sheet(f"{s.name}{i}", s.rows) for i, s in enumerate(of))
        )
        for n, of in enumerate(found)
    )


options = st.builds(
    ReadOptions,
    weight_unit=st.sampled_from(("g", "grain", None)),
    default_type=st.sampled_from(("", "us-half-1873")),
    lot=st.sampled_from((None, None, "K-01")),
    mapping=st.sampled_from(
        (None, {"same_coins": True}, {"decimal_sign": ","}, {"header_row": 1}, {"header_row": 0})
    ),
)


def nothing_lost_nothing_altered(given_books: tuple[Book, ...], intake: Intake) -> None:
    items, readings, left_out = intake.items, intake.readings, intake.left_out
    assert intake.rows_read == len(items) + len(left_out)
    assert items["item_id"].is_unique
    places = Counter(
        zip(items["source_file"], items["source_sheet"], items["source_row"], strict=True)
    )
    places += Counter(zip(left_out["source_file"], left_out["sheet"], left_out["row"], strict=True))
    assert max(places.values(), default=1) == 1
    headers = {
        (t.source_file, t.sheet, row) for t in intake.tables for row in range(0, t.first_row)
    }
    cell_texts: dict[str, set[str]] = {}
    for book in given_books:
        for sheet in book.sheets:
            for at, row in enumerate(sheet.rows, 1):
                texts = [cell_text(cell) for cell in row]
                place = (book.name, sheet.name, at)
                cell_texts.setdefault(book.name, set()).update(texts)
                if any(text.strip() for text in texts) and place not in headers:
                    assert place in places
    file_of = dict(zip(items["item_id"], items["source_file"], strict=True))
    for item, raw in zip(readings["item_id"], readings["raw"], strict=True):
        assert any(raw in texts for texts in cell_texts.values()), (file_of[item], raw)
    assert np.isfinite(readings["value"].to_numpy(np.float64)).all()


def read_and_check(given_books: tuple[Book, ...], said: ReadOptions) -> None:
    try:
        intake = intake_of(given_books, checked(said))
    except InputError:
        return
    nothing_lost_nothing_altered(given_books, intake)
    after, _ = with_repeats(with_year_doubts(intake, load_standards()), ())
    assert len(after.readings) == len(intake.readings)


@settings(max_examples=100, suppress_health_check=list(HealthCheck))
@given(books(), options)
def test_random_sheets_lose_no_row_and_alter_no_cell(
    given_books: tuple[Book, ...], said: ReadOptions
) -> None:
    read_and_check(given_books, said)


@pytest.mark.slow
@settings(max_examples=10_000, suppress_health_check=list(HealthCheck))
@given(books(), options)
def test_ten_thousand_random_sheets_lose_no_row_and_alter_no_cell(
    given_books: tuple[Book, ...], said: ReadOptions
) -> None:
    read_and_check(given_books, said)
