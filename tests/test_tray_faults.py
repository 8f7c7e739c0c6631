"""Bad answer sheets and keys: a message with its place, and no row lost."""

from __future__ import annotations

from pathlib import Path

import pytest
import xlsxwriter

from lotscreen.records import InputError, SettingsError
from lotscreen.tray.answer_key import read_key
from lotscreen.tray.answers import read_answers
from lotscreen.tray.marking.marked import Marked, mark
from lotscreen.tray.marking.pass_rule import FAILED, OPEN, OTHER, PASSED, read_rule

HEADER = "trainee,tray,cell,answer,conf,sec"
KEY = """tray,cell,piece,type,kind,status,tellable
1,1,P1,half,brass,not honest,yes
1,2,P2,half,worn,honest,yes
1,3,P3,half,debased,not honest,no
1,4,P4,half,worn,honest,yes
"""
SAMPLES = Path(__file__).parent.parent / "sample_lots" / "trays"


def _file(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def _marked(folder: Path, rows: list[str], key: str = KEY) -> Marked:
    answers = _file(folder, "answers.csv", "\n".join([HEADER, *rows]) + "\n")
    marked = mark(read_answers([answers]), read_key([_file(folder, "key.csv", key)]))
    ends = len(marked.grid.person) + len(marked.not_told) + len(marked.left_out)
    assert marked.rows_read == len(rows) == ends, "a row is lost"
    return marked


GOOD = ["T01,1,1,R,4,12", "T01,1,2,A,5,9", "T01,1,4,S,2,20", "T02,1,1,A,1,8", "T02,1,2,A,5,7"]


@pytest.mark.parametrize(
    ("extra", "words"),
    [
        (["T01,1,1,A,2,9"], ["row 7", "cell 1", "tray 1", "twice", "rows 2, 7", "neither"]),
        (["T01,1,2,A,5,9"], ["row 7", "same answer", "the first is used"]),
        (["T01,1,9,A,2,9"], ["row 7", "no cell 9"]),
        (["T01,7,1,A,2,9"], ["row 7", "no key for tray 7"]),
        (["T01,1,first,A,2,9"], ["row 7", "'first'", "whole number"]),
        (["T01,1,2.7,A,2,9"], ["row 7", "'2.7'", "whole number"]),
        (["T01,1,3,maybe,2,9"], ["row 7", "'maybe'", "A (accept)"]),
        (["T01,1,3,n/a,2,9"], ["row 7", "no answer"]),
        (["-,1,3,A,2,9"], ["row 7", "no trainee"]),
    ],
)
def test_a_row_that_cannot_be_used_is_left_out_with_its_place(
    tmp_path: Path, extra: list[str], words: list[str]
) -> None:
    marked = _marked(tmp_path, GOOD + extra)
    (last,) = [row for row in marked.left_out if "row 7" in row.place]
    for word in words:
        assert word in f"{last.place}: {last.reason}", word
    assert "answers.csv" in last.place


def test_two_trainees_under_one_code_are_told_and_neither_is_marked(tmp_path: Path) -> None:
    key = "tray,cell,piece,status\n" + "".join(
        f"1,{n},P{n},{'not honest' if n % 4 == 0 else 'honest'}\n" for n in range(1, 26)
    )
    one = [f"T01,1,{n},A,5,{10 + n}" for n in range(1, 26)]
    other = [f"T01,1,{n},{'R' if n % 4 == 0 else 'A'},3,{30 + n}" for n in range(1, 26)]
    third = [f"T02,1,{n},A,4,12" for n in range(1, 26)]
    marked = _marked(tmp_path, [*one, *third, *other], key)
    assert marked.grid.people == ("T02",)
    assert len(marked.left_out) == 50
    assert all("share one code" in row.reason for row in marked.left_out)
    assert "rows 2, 52" in marked.left_out[0].reason


def test_a_piece_that_stands_in_no_key_is_told(tmp_path: Path) -> None:
    text = "trainee,tray,cell,piece,answer\nT01,1,1,P1,R\nT01,1,2,P9,A\nT01,1,4,P2,A\n"
    answers = read_answers([_file(tmp_path, "answers.csv", text)])
    marked = mark(answers, read_key([_file(tmp_path, "key.csv", KEY)]))
    unknown, other = marked.left_out
    assert "row 3" in unknown.place
    assert "P9 stands in no key" in unknown.reason
    assert "row 4" in other.place
    assert "the key has P4" in other.reason
    assert len(marked.grid.person) == 1


def test_a_key_for_none_of_the_trays_says_what_is_there(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"none of the trays answered \(9\); it holds 1"):
        _marked(tmp_path, ["T01,9,1,A,3,9"])


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("1,1,P7,half,worn,honest,yes", "cell 1 of tray 1"),
        ("2,1,P1,half,worn,honest,yes", "piece P1 has another status"),
        ("2,1,P8,half,worn,perhaps,yes", "row 6, column F: the status is 'perhaps'"),
        ("2,,P8,half,worn,honest,yes", "row 6, column B"),
        ("2,4,,half,worn,honest,yes", "row 6, column C: no piece"),
    ],
)
def test_a_wrong_key_names_every_row_to_mend(tmp_path: Path, row: str, words: str) -> None:
    with pytest.raises(InputError) as told:
        read_key([_file(tmp_path, "key.csv", KEY + row + "\n")])
    assert words in str(told.value)
    assert "key.csv" in str(told.value)


def test_a_sheet_without_the_columns_says_what_it_found(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="colour, size"):
        read_answers([_file(tmp_path, "odd.csv", "colour,size\nred,3\n")])


def test_codes_above_the_table_ditto_marks_and_words_in_other_languages(tmp_path: Path) -> None:
    path = tmp_path / "typed.xlsx"
    book = xlsxwriter.Workbook(path)
    page = book.add_worksheet("T03")
    rows = [
        ["Practice, typed from paper"], ["Trainee: t03", "", "Session", "spring"], [],
        ["Tray", "Cell", "Antwort", "Confidence (1-5)", "Zeit"],
        ["1", 1, "ablehnen", "4/5", "1:05"], ['"', 2, "Accept", "?", "17,5 s"],
        ['"', 4, "set aside", 2, "soon"],
    ]  # fmt: skip
    for n, row in enumerate(rows):
        page.write_row(n, 0, row)
    book.close()
    found = read_answers([path])
    assert found.rows["trainee"].tolist() == ["T03"] * 3
    assert found.rows["session"].tolist() == ["spring"] * 3
    assert found.rows["tray"].tolist() == ["1"] * 3
    assert found.rows["answer"].tolist() == ["R", "A", "S"]
    assert found.rows["seconds"].tolist()[:2] == [65.0, 17.5]
    assert found.rows["conf"].tolist()[::2] == [4.0, 2.0]
    (doubt,) = found.doubts
    assert "typed.xlsx, sheet T03, row 7, column E" in doubt
    assert "'soon'" in doubt


def test_a_piece_that_no_reading_can_tell_is_shown_and_not_marked(tmp_path: Path) -> None:
    marked = _marked(tmp_path, [*GOOD, "T01,1,3,A,5,9", "T02,1,3,R,1,9"])
    assert marked.not_told["piece"].tolist() == ["P3", "P3"]
    assert "P3" not in set(marked.grid.pieces["piece"])
    assert marked.of("T01").of_false == 1


def test_set_aside_and_refuse_both_count_as_held_back(tmp_path: Path) -> None:
    marked = _marked(tmp_path, GOOD)
    one = marked.of("T01")
    assert (one.hits, one.of_false, one.alarms, one.of_honest) == (1, 1, 1, 2)
    assert sorted(marked.grid.level[marked.grid.person == 0]) == [-5, 0, 4]


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("trays = 5", "trays = 0", "trays is 0"),
        ("least_hits = 27", "least_hits = 31", "least_hits is 31"),
        ("risk_pass_weak = 0.05", "risk_pass_weak = 5", "risk_pass_weak is 5"),
        ("hits = 0.80", "hits = 80", r"weak\.hits is 80"),
        ("trays = 5", "tray = 5", "tray is no part of a pass rule"),
        ("trays = 5", "trays = = 5", "no TOML"),
    ],
)
def test_a_wrong_rule_names_key_value_and_mend(
    tmp_path: Path, old: str, new: str, words: str
) -> None:
    text = (SAMPLES / "pass_rule.toml").read_text(encoding="utf-8")
    with pytest.raises(SettingsError, match=words):
        read_rule(_file(tmp_path, "rule.toml", text.replace(old, new)))


def test_missing_answers_leave_a_verdict_open_only_where_they_could_decide_it() -> None:
    rule = read_rule(SAMPLES / "pass_rule.toml")
    assert rule.verdict(27, 30, 9, 95) == PASSED
    assert rule.verdict(26, 30, 0, 95) == FAILED
    assert rule.verdict(27, 29, 3, 95) == PASSED
    assert rule.verdict(26, 29, 3, 95) == OPEN
    assert rule.verdict(29, 30, 8, 93) == OPEN
    assert rule.verdict(25, 29, 3, 95) == FAILED
    assert rule.verdict(30, 31, 3, 95) == OTHER
