"""Whatever stands in a sheet of second tests: it is taken, or told with its row."""

from __future__ import annotations

import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from lotscreen.intake.readers import book_of_frame
from lotscreen.second_tests.sheet import results_of_book

WORDS = ["coin", "no", "roll", "test", "value", "unit", "reference", "water density", "magnet",
         "ring", "X-ray", "yes", "dead", "10,31 g/cm3", "5.2 kHz", "899", "g", "", "-", "?",
         "n/a", '"', "1e9", "=A1", "0", "-3", "Ω"]  # fmt: skip
CELLS = st.one_of(
    st.sampled_from(WORDS), st.text(max_size=8), st.floats(allow_nan=True), st.integers(),
    st.booleans(), st.none(),
)  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(CELLS, min_size=4, max_size=4), max_size=5))
def test_any_rows_under_a_header_are_taken_or_told(rows: list[list[object]]) -> None:
    frame = pd.DataFrame(rows, columns=["coin", "test", "value", "unit"], dtype=object)
    found = results_of_book(book_of_frame(frame, "any.csv"))
    assert len(found.results) + len(found.not_taken) <= len(rows)
    for said in found.not_taken:
        assert "any.csv" in said
        assert "row " in said
