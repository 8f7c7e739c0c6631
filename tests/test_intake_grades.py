"""A column of grades: words and letters of the trade in one scale."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from lotscreen.instruments import instruments_of
from lotscreen.intake import read_frame
from lotscreen.intake.grades import grade_of
from lotscreen.quantities import GRADES
from lotscreen.settings import Settings
from lotscreen.summary import summarise

SAID = {
    "AU": ("AU", "MS-63", "unc.", "BU", "st", "SPL", "Uncirculated"),
    "EF": ("XF-45", "EF", "nEF", "vz", "vz-st", "SUP", "EBC"),
    "VF": ("VF20", "gVF", "VF/XF", "ss", "sehr schön", "TTB", "MBC"),
    "F": ("F", "Fine", "F-VF", "s", "TB+"),
    "VG": ("VG", "very good", "VG-8"),
    "G": ("G4", "good"),
    "AG": ("AG", "about good", "Poor", "slick"),
}


@pytest.mark.parametrize("grade", GRADES)
def test_the_words_of_the_trade_are_one_scale(grade: str) -> None:
    assert {word: grade_of(word) for word in SAID[grade]} == dict.fromkeys(SAID[grade], grade)


@pytest.mark.parametrize("word", ["", "n/a", "nice", "42", "VF-XF-AU", "?", "light"])
def test_what_names_no_grade_is_no_grade(word: str) -> None:
    assert grade_of(word) == ""


def _sheet(header: str, grades: list[object]) -> pd.DataFrame:
    n = len(grades)
    return pd.DataFrame(
        {
            "No": [str(i + 1) for i in range(n)],
            "Type": ["US half dollar"] * n,
            "Year": ["1940"] * n,
            "Weight (g)": [f"{12.3 + 0.01 * i:.2f}" for i in range(n)],
            header: grades,
        }
    )


@pytest.mark.parametrize("header", ["Grade", "Condition", "Erhaltung", "état"])
def test_the_column_reaches_the_item_table_and_is_carried_too(header: str) -> None:
    intake = read_frame(_sheet(header, ["VF-20", "XF", "", "junk", "G"]))
    assert intake.items["grade"].tolist() == ["VF", "EF", "", "", "G"]
    assert intake.items["carried"].iloc[0] == {header: "VF-20"}
    table = summarise(intake.items, intake.readings, instruments_of(intake.readings, Settings()))
    assert table.grade.tolist() == ["VF", "EF", "", "", "G"]


def test_cells_that_name_no_grade_are_said_and_are_no_doubt() -> None:
    with_words = read_frame(_sheet("Grade", ["VF", "junk", "junk", "odd", ""]))
    (note,) = with_words.tables[0].notes
    assert note.startswith('Grade: 3 cells name no grade that is understood ("junk", "odd")')
    plain = read_frame(_sheet("Grade", ["VF", "", "", "", ""]))
    assert plain.tables[0].notes == ()
    assert with_words.doubts == plain.doubts


def test_numbers_in_a_grade_column_are_no_grades() -> None:
    intake = read_frame(_sheet("Grade", [20.0, 40.0, 63.0, 4.0, 12.0]))
    assert intake.items["grade"].tolist() == [""] * 5


def test_items_are_the_same_whatever_the_grades() -> None:
    ids = [
        read_frame(_sheet("Grade", grades)).items["item_id"].tolist()
        for grades in (["VF"] * 4, ["G", "", "junk", "AU"])
    ]
    assert ids[0] == ids[1]
    assert np.unique(ids[0]).size == 4
