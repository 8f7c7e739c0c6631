"""Numbers, cells, dates, headers and steps, one at a time."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lotscreen.intake import read_frame
from lotscreen.intake.cells import decimal_sign_of, text_cell
from lotscreen.intake.dates import coin_date
from lotscreen.intake.delimited import decoded, parsed, separator_of
from lotscreen.intake.grid import cell_text, column_letters, column_of
from lotscreen.intake.headers import sense_of
from lotscreen.intake.steps import estimated_step
from lotscreen.quantities import DWT_G, parse_number, to_grams


@pytest.mark.parametrize(
    ("text", "sign", "value", "unit", "decimals"),
    [
        ("12.5", ".", 12.5, "", 1),
        ("12.50 g", ".", 12.5, "g", 2),
        ("17.2dwt", ".", 17.2, "dwt", 1),
        ("412 1/2 grains", ".", 412.5, "grains", None),
        ("12½", ".", 12.5, "", None),
        ("1/2", ".", 0.5, "", None),
        ("1,234.5", ".", 1234.5, "", 1),
        ("1.234,5", ",", 1234.5, "", 1),
        ("26,73", ",", 26.73, "", 2),
        ("12\u00a0345 g", ".", 12345.0, "g", 0),
        ("\u22123", ".", -3.0, "", 0),
        ('1.5"', ".", 1.5, '"', 1),
    ],
)
def test_numbers_are_read_as_written(
    text: str, sign: str, value: float, unit: str, decimals: int | None
) -> None:
    found = parse_number(text, sign)
    assert found is not None
    assert (found.value, found.unit_word, found.decimals) == (value, unit, decimals)


@pytest.mark.parametrize("text", ["26,73", "12..5", "", "g", "1.2.3", "1/0", "9" * 99, "1,5/2"])
def test_what_is_no_single_number_with_a_point_is_refused(text: str) -> None:
    assert parse_number(text) is None


def test_units_have_their_exact_factors() -> None:
    assert to_grams(412.5, "grain") == pytest.approx(26.7295504, abs=1e-7)  # Act of 1873: 26.73
    assert pytest.approx(1.55517384) == DWT_G


@given(st.decimals(min_value="0.001", max_value="99999", places=3))
def test_a_number_comes_back_with_either_sign(value: object) -> None:
    point = parse_number(str(value))
    comma = parse_number(str(value).replace(".", ","), ",")
    assert point is not None
    assert comma is not None
    assert point.value == comma.value == float(str(value))


@pytest.mark.parametrize(
    "text", ["n/a", "NA", "-", "–", "?", "illeg.", "xx", "0", "0.00", " ", "–\u00a0"]
)
def test_words_for_nothing_are_no_reading_and_no_doubt(text: str) -> None:
    cell = text_cell(text, ".")
    assert (cell.state, cell.doubt) == ("missing", "")


@pytest.mark.parametrize(
    ("text", "doubt", "proposal"),
    [
        ("12.3l", "unreadable", "12.31"),
        ("l2.5", "unreadable", "12.5"),
        ("12.5O", "unreadable", "12.50"),
        ("12..5", "unreadable", "12.5"),
        ("12 5", "unreadable", "12.5"),
        ("twelve", "unreadable", ""),
        ('"', "ditto_reading", ""),
        ("<2", "bound", ""),
        ("-3", "not_above_zero", ""),
        ("5-04", "unreadable", ""),
    ],
)
def test_unreadable_cells_are_doubted_with_a_proposal(text: str, doubt: str, proposal: str) -> None:
    cell = text_cell(text, ".")
    assert (cell.state, cell.doubt, cell.proposal) == ("unreadable", doubt, proposal)
    assert math.isnan(cell.value)


@pytest.mark.parametrize(
    ("text", "doubt"),
    [
        ("≈12.4", "marked"),
        ("12.4(?)", "marked"),
        ("12.4*", "marked"),
        ("(12.4)", "marked"),
        ("12.4 bent", "words_behind"),
        ("12,4", "other_sign"),
    ],
)
def test_a_number_with_a_sign_of_doubt_is_used_and_doubted(text: str, doubt: str) -> None:
    cell = text_cell(text, ".")
    assert (cell.state, cell.value, cell.doubt) == ("number", 12.4, doubt)


def test_three_digits_behind_the_other_sign_are_shown_both_ways() -> None:
    cell = text_cell("26,730", ".")
    assert (cell.value, cell.doubt, cell.proposal) == (26730.0, "thousands", "26.73")


@pytest.mark.parametrize(
    ("texts", "sign"),
    [
        (["26,73", "26,7", "12.345"], ","),
        (["26.73", "26,7", "12.3"], "."),
        (["1.234,50"], ","),
        (["26,730", "26,715"], ","),
        (["12", "n/a"], "."),
    ],
)
def test_the_decimal_sign_is_the_one_most_cells_use(texts: list[str], sign: str) -> None:
    assert decimal_sign_of(texts)[0] == sign


@pytest.mark.parametrize(
    ("text", "year", "mark"),
    [
        ("1891", 1891, ""),
        ("1891-S", 1891, "S"),
        ("1891 CC", 1891, "CC"),
        ("1891S", 1891, "S"),
        ("S/1891", 1891, "S"),
        ("1891/0", 1891, ""),
        ("1891/90", 1891, ""),
        ("1891/0-S", 1891, "S"),
        ("1853 arrows", 1853, ""),
        ("1873 open 3", 1873, ""),
        ("c. 1891", 1891, ""),
        ("12.3.1891", 1891, ""),
        ("n.d.", None, ""),
        ("o.J.", None, ""),
        ("s.d.", None, ""),
        ("?", None, ""),
        ("", None, ""),
    ],
)
def test_dates_give_year_and_mint_mark(text: str, year: int | None, mark: str) -> None:
    found = coin_date(text)
    assert (found.year, found.mint_mark, found.doubt) == (year, mark, "")


@pytest.mark.parametrize(
    ("text", "doubt", "proposal"),
    [
        ("18991", "date_impossible", "1891 / 1899 / 1991"),
        ("9181", "date_impossible", "1981"),
        ("2081", "date_impossible", "2018"),
        ("2180", "date_impossible", ""),
        ("'04", "date_two_digits", ""),
        ("1853-1873", "date_span", ""),
        ("1853-73", "date_span", ""),
        ("l891", "date_unreadable", "1891"),
        ("worn", "date_unreadable", ""),
    ],
)
def test_impossible_dates_give_no_year_and_a_doubt(text: str, doubt: str, proposal: str) -> None:
    found = coin_date(text)
    assert (found.year, found.doubt, found.proposal) == (None, doubt, proposal)


@pytest.mark.parametrize(
    ("header", "role", "unit"),
    [
        ("coin_id", "coin_id", ""),
        ("weight_g", "weight", "g"),
        ("Wt(g)", "weight", "g"),
        ("Gewicht g", "weight", "g"),
        ("Gewicht [gr]", "weight", "gr"),
        ("gr", "weight", "gr"),
        ("Poids (grammes)", "weight", "g"),
        ("Peso en gramos", "weight", "g"),
        ("Gewicht/g", "weight", "g"),
        ("Wt g (bare)", "weight", "g"),
        ("Density g/cm3", "density", "g/cm3"),
        ("Roll #", "group", ""),
        ("Los-Nr.", "lot", ""),
        ("peso bruto", "weight_gross", ""),
        ("Weight of coin, grains", "weight", "grain"),
        ("Diamètre", "diameter", ""),
        ("Ø mm", "diameter", "mm"),
        ("mm", "diameter", "mm"),
        ("D min", "diameter_min", ""),
        ("Durchm. max (mm)", "diameter_max", "mm"),
        ("Dicke", "thickness", ""),
        ("T rim", "thickness", ""),
        ("Épaisseur (mm)", "thickness", "mm"),
        ("Dia (in)", "diameter", "in"),
        ("SG", "density", ""),
        ("Date/Mint", "date", ""),
        ("Jahrgang", "date", ""),
        ("Año", "date", ""),
        ("Millésime", "date", ""),
        ("Münzzeichen", "mint_mark", ""),
        ("Rolle", "group", ""),
        ("rouleau", "group", ""),
        ("Stückzahl", "count", ""),
        ("measured by", "person", ""),
        ("Lote", "lot", ""),
        ("expected_weight_g", None, ""),
        ("weight (mm)", None, ""),
        ("remarks", None, ""),
    ],
)
def test_headers_in_four_languages(header: str, role: str | None, unit: str) -> None:
    found = sense_of(header)
    assert (None if found is None else found.role) == role
    assert found is None or found.unit == unit


@pytest.mark.parametrize(
    ("header", "role", "repeat"),
    [("weight_2", "weight", 2), ("W2", "weight", 2), ("weight_2_g", "weight", 2),
     ("weight_g_2", "weight", 2), ("Dicke (3)", "thickness", 3), ("T 1", "thickness", 1)],
)  # fmt: skip
def test_a_number_in_the_header_says_which_reading(header: str, role: str, repeat: int) -> None:
    found = sense_of(header)
    assert found is not None
    assert (found.role, found.repeat) == (role, repeat)


def test_a_letter_behind_a_measure_is_the_person() -> None:
    found = sense_of("Weight B (g)")
    assert found is not None
    assert (found.role, found.person, found.unit) == ("weight", "B", "g")


def _step(texts: list[str]) -> float:
    values = np.array([float(text) for text in texts])
    decimals = np.array([len(text.partition(".")[2]) for text in texts])
    return estimated_step(values, decimals)


def test_the_step_is_that_of_the_decimals_written() -> None:
    assert _step(["12.31", "12.4", "12.44", "12.57"]) == pytest.approx(0.01)


@pytest.mark.parametrize("step", [0.05, 0.02, 0.1, 0.01, 0.5])
def test_the_step_is_that_of_the_grid_where_it_is_coarser(step: float) -> None:
    on_grid = np.rint(np.random.default_rng(7).normal(12.3, 2.0, 300) / step) * step
    assert _step([f"{value:.2f}" for value in on_grid]) == pytest.approx(step)


def test_one_slip_does_not_refine_the_step() -> None:
    on_grid = np.rint(np.random.default_rng(8).normal(12.3, 0.5, 200) * 10) / 10
    assert _step([*(f"{value:.1f}" for value in on_grid), "12.345"]) == pytest.approx(0.1)


def test_few_round_readings_do_not_coarsen_the_step() -> None:
    assert _step(["12.50", "12.40"]) == pytest.approx(0.01)


def test_no_reading_has_no_step() -> None:
    assert math.isnan(estimated_step(np.array([]), np.array([], dtype=np.int64)))


@pytest.mark.parametrize(
    ("content", "text"),
    [
        (b"\xef\xbb\xbfa;b", "a;b"),
        ("a;ü".encode("utf-16"), "a;ü"),
        ("Münze €".encode("cp1252"), "Münze €"),
        ("Münze".encode(), "Münze"),
    ],
)
def test_encodings(content: bytes, text: str) -> None:
    assert decoded(content) == text


@pytest.mark.parametrize(
    ("text", "separator"),
    [
        ("a;b;c\n1,5;2,5;3,5\n1,5;2,5;3,5\n", ";"),
        ("a,b\n1,2\n", ","),
        ("title, of this\na\tb\tc\n1,5\t2\t3\n1,6\t2\t3", "\t"),
        ("sep=|\na|b\n", "|"),
    ],
)
def test_separators(text: str, separator: str) -> None:
    assert separator_of(text) == separator


def test_a_quotation_mark_as_ditto_swallows_no_rows() -> None:
    assert parsed('a,b,c\n1,half,2\n2,",3\n3,",4\n') == [
        ["a", "b", "c"], ["1", "half", "2"], ["2", '"', "3"], ["3", '"', "4"],
    ]  # fmt: skip


def test_a_quotation_mark_never_closed_swallows_no_rows() -> None:
    assert len(parsed('a,b\n1,"half\n2,x\n3,y\n4,z\n')) == 5


def test_quoted_cells_keep_separator_and_line_break() -> None:
    assert parsed('a,b\n"1,5","x\ny"\n2,"z ""q"""\n') == [
        ["a", "b"],
        ["1,5", "x\ny"],
        ["2", 'z "q"'],
    ]


def test_cells_of_spreadsheets_as_text() -> None:
    assert [cell_text(c) for c in (12.0, 12.45, 0.1 + 0.2, True, None, "x", float("nan"))] == [
        "12", "12.45", "0.3", "TRUE", "", "x", "",
    ]  # fmt: skip


def test_true_and_one_stay_different_cells() -> None:
    assert column_of("x", [1.0, True, "1", None]).texts.tolist() == ["1", "TRUE", "1", ""]


def test_letters_of_columns() -> None:
    assert [column_letters(i) for i in (0, 25, 26, 701, 702)] == ["A", "Z", "AA", "ZZ", "AAA"]


def test_a_word_may_name_a_coin_a_roll_or_a_lot_though_it_says_no_reading() -> None:
    columns = ["coin_id", "lot", "roll", "type", "date", "weight_g"]
    rows = [
        ["x", "X", "none", "US half dollar", "x", 12.4],
        ["n/a", "-", "?", "US half dollar", 1943, "x"],
        ["A  7", "X", "na", "US half dollar", 1943, 12.4],
    ]
    found = read_frame(pd.DataFrame(rows, columns=columns))
    assert list(found.items["coin_id"]) == ["x", "frame!3", "A  7"]
    assert list(found.items["lot"]) == ["X", "", "X"]
    assert list(found.items["group"]) == ["none", "", "na"]
    assert found.items["year"].isna().tolist() == [True, False, False]
    assert len(found.readings) == 2
