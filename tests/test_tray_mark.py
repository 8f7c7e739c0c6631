"""``lotscreen tray mark`` on the two sample sets: what it prints, writes and names."""

from __future__ import annotations

import re
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pypdf
import pytest
from pdf_text import page_texts, words_of
from tray_class import as_read
from typer.testing import CliRunner, Result

from lotscreen.cli import app
from lotscreen.cli.exit_codes import ExitCode
from lotscreen.simulate.trays import tray_c as tray_c_drawn
from lotscreen.tray.answer_key import read_key
from lotscreen.tray.answers import read_answers
from lotscreen.tray.marking.marked import Marked, mark
from lotscreen.tray.marking.pass_rule import read_rule, trays_needed
from lotscreen.tray.marking.stage_words import change_words
from lotscreen.tray.marking.stages import BURST, QUIET

SAMPLES = Path(__file__).parent.parent / "sample_lots" / "trays"
CODES = [f"T{n:02d}" for n in range(1, 13)]
MOST_SECONDS = 10.0


def _run(*arguments: object) -> Result:
    return CliRunner().invoke(app, ["tray", "mark", *(str(a) for a in arguments)])


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> tuple[Result, Path, float]:
    """Tray C marked by the command, its folder, and the seconds of this process."""
    folder = tmp_path_factory.mktemp("marks") / "c"
    before = time.process_time()
    run = _run(
        SAMPLES / "tray_c.csv", "--key", SAMPLES / "tray_c_key.csv", "--rule",
        SAMPLES / "pass_rule.toml", "--kept-until", "2027-06-30", "--appeal-to", "desk A-2",
        "--permission", "ref. 12/invented", "--out", folder,
    )  # fmt: skip
    return run, folder, time.process_time() - before


@pytest.fixture(scope="module")
def tray_c() -> Marked:
    rule = read_rule(SAMPLES / "pass_rule.toml")
    answers, key = read_answers([SAMPLES / "tray_c.csv"]), read_key([SAMPLES / "tray_c_key.csv"])
    return mark(answers, key, rule)


@pytest.fixture(scope="module")
def quiet_week() -> Marked:
    answers = read_answers([SAMPLES / "quiet_week.csv"])
    return mark(answers, read_key([SAMPLES / "quiet_week_key.csv"]))


def test_the_screen_says_first_who_practises_what_next(
    written: tuple[Result, Path, float],
) -> None:
    run, folder, _ = written
    assert run.exit_code == ExitCode.DONE_WITH_DOUBTS, run.output
    lines = run.stdout.splitlines()
    assert lines[0] == "Who practises what next"
    assert max(map(len, (line for line in lines if str(folder) not in line))) <= 80
    said = " ".join(" ".join(lines).split())
    for words in (
        "look at the key: P-020",
        "T03: practise “right weight, too thick”",
        "32 of 95 honest pieces were held up",
        "T11: do the last third of a tray at the pace of the first",
        "(T01, T02, T04, T05, T06, T08, T09, T10, T12): nothing stands out",
        "A fair trainee (true shares 90 % and 5 %) passes with a chance of 63 %",
        "There is no order among trainees whose intervals overlap",
        "T07: Tells the pieces apart well, too suspicious.",
    ):
        assert words in said, words


def test_every_report_is_there_within_ten_seconds_and_again_the_same(
    written: tuple[Result, Path, float], tmp_path: Path
) -> None:
    _, folder, seconds = written
    tables = {"marks.csv", "pieces.csv", "left_out.csv"}
    assert {p.name for p in folder.iterdir()} == {"supervisor.pdf", *tables} | {
        f"{code}.pdf" for code in CODES
    }
    assert seconds < MOST_SECONDS
    other = tmp_path / "again"
    _run(
        SAMPLES / "tray_c.csv", "--key", SAMPLES / "tray_c_key.csv", "--rule",
        SAMPLES / "pass_rule.toml", "--kept-until", "2027-06-30", "--appeal-to", "desk A-2",
        "--permission", "ref. 12/invented", "--out", other,
    )  # fmt: skip
    for path in folder.iterdir():
        assert path.read_bytes() == (other / path.name).read_bytes(), path.name


def test_a_trainees_report_holds_nothing_of_anothers_and_the_law(
    written: tuple[Result, Path, float],
) -> None:
    text = words_of(written[1] / "T03.pdf")
    assert not re.search(r"\bT(?!03)\d\d\b", text)
    assert not re.search(r"\bP-\d{3}\b", text), "a piece would be recognised when it comes again"
    for words in (
        "Tells the pieces apart fairly, a little too trusting", "2027-06-30", "desk A-2",
        "Hearing, sight or hand", "measured again in your presence", "They are no rank",
        "key being checked", "this verdict waits",
    ):  # fmt: skip
        assert words in text, words
    assert "kappa" not in text.casefold()


def test_the_supervisors_report_has_its_first_page_and_its_annex(
    written: tuple[Result, Path, float],
) -> None:
    first = " ".join(page_texts(written[1] / "supervisor.pdf")[0].split())
    for code in CODES:
        assert code in first
    text = words_of(written[1] / "supervisor.pdf")
    for words in (
        "AC1", "Kappa", "ref. 12/invented", "desk A-2", "2027-06-30", "Suspect the key: P-020",
        "Where the instrument says otherwise than the key",
        "9 such trays",
    ):  # fmt: skip
        assert words in text, words


def test_the_pdfs_are_tagged_for_reading_aloud(written: tuple[Result, Path, float]) -> None:
    for name in ("supervisor.pdf", "T11.pdf"):
        reader = pypdf.PdfReader(written[1] / name)
        root = reader.trailer["/Root"]
        assert root["/MarkInfo"]["/Marked"]
        assert b"pdfuaid" in reader.trailer["/Root"]["/Metadata"].get_object().get_data()


def test_every_row_of_tray_c_ends_marked_or_left_out_with_a_reason(
    written: tuple[Result, Path, float], tray_c: Marked
) -> None:
    left = pd.read_csv(written[1] / "left_out.csv")
    assert len(left) == len(tray_c.left_out) == 27
    assert left["reason"].str.contains("the first is used").sum() == 25
    assert left["reason"].str.contains("neither is used").sum() == 2
    assert tray_c.rows_read == len(tray_c.grid.person) + 27


def test_taking_the_doubted_piece_out_changes_marks_and_leaves_no_doubt(tray_c: Marked) -> None:
    answers, key = read_answers([SAMPLES / "tray_c.csv"]), read_key([SAMPLES / "tray_c_key.csv"])
    without = mark(answers, key, tray_c.rule, ["P-020"])
    assert not without.pieces.suspect
    assert without.of("T01").of_false == 29
    assert sum("--set-out" in row.reason for row in without.left_out) == 12
    assert without.of("T02").skill.value > tray_c.of("T02").skill.value


def test_trainees_stand_in_the_order_of_codes_not_of_marks(tray_c: Marked) -> None:
    codes = [person.code for person in tray_c.people]
    assert codes == sorted(codes)


def test_a_kind_is_told_with_what_tells_it(written: tuple[Result, Path, float]) -> None:
    assert "it is told by thickness" in " ".join(written[0].stdout.split())


def test_more_trays_are_needed_than_the_rule_asks(tray_c: Marked) -> None:
    assert tray_c.rule is not None
    needed = trays_needed(tray_c.rule)
    assert needed.trays > tray_c.rule.trays
    assert needed.pass_weak <= tray_c.rule.risk_pass_weak
    assert needed.pass_good >= 1 - tray_c.rule.risk_fail_good


def test_one_tray_is_warned_of(tmp_path: Path) -> None:
    frame = pd.read_csv(SAMPLES / "tray_c.csv", header=1)
    frame[frame["tray"] == "C1"].to_csv(tmp_path / "one.csv", index=False)
    rule = (SAMPLES / "pass_rule.toml").read_text(encoding="utf-8")
    for old, new in (("trays = 5", "trays = 1"), ("= 30 ", "= 6 "), ("= 95", "= 19"),
                     ("= 27", "= 5"), ("alarms = 9", "alarms = 2")):  # fmt: skip
        rule = rule.replace(old, new)
    (tmp_path / "rule.toml").write_text(rule, encoding="utf-8")
    run = _run(tmp_path / "one.csv", "--key", SAMPLES / "tray_c_key.csv", "--rule",
               tmp_path / "rule.toml", "--no-reports")  # fmt: skip
    said = " ".join(run.stdout.split())
    assert "One tray was answered. One tray is practice; it can certify nobody" in said
    assert "6 of 6 hits show a share of at least 61 % only" in said
    assert "WARNING: one tray cannot certify anybody" in said


@pytest.mark.parametrize("cells", [(1, 6), (3, 4), (1,), (3,)])
def test_pieces_of_one_status_give_counts_and_no_skill(
    tmp_path: Path, cells: tuple[int, ...]
) -> None:
    """Cells 1 and 6 of tray C1 are not honest, 3 and 4 are."""
    rows = "".join(f"T01,C1,{cell},A,3,10\nT02,C1,{cell},R,3,10\n" for cell in cells)
    path = tmp_path / "one_status.csv"
    path.write_text(f"trainee,tray,cell,answer,conf,sec\n{rows}", encoding="utf-8")
    run = _run(path, "--key", SAMPLES / "tray_c_key.csv", "--out", tmp_path / "o")
    assert run.exit_code == 0, run.output
    said = " ".join(run.stdout.split())
    assert "T01: Met pieces of one status only" in said
    assert "–" not in said
    assert "0 of 0" not in said
    assert "overlap somewhere" not in said
    marks = pd.read_csv(tmp_path / "o" / "marks.csv")
    assert marks[["d_prime", "criterion", "roc_area"]].isna().all(axis=None)
    assert "Met pieces of one status only" in words_of(tmp_path / "o" / "T01.pdf")


def test_one_trainee_is_compared_with_nobody(tmp_path: Path) -> None:
    frame = pd.read_csv(SAMPLES / "tray_c.csv", header=1)
    frame[frame["trainee"] == "T07"].to_csv(tmp_path / "alone.csv", index=False)
    run = _run(tmp_path / "alone.csv", "--key", SAMPLES / "tray_c_key.csv", "--no-reports")
    said = " ".join(run.stdout.split())
    assert "held up, more than a good teller may: suspicion, not skill" in said
    assert "nobody is compared" in said
    assert "the others" not in said


def test_the_quiet_week_shows_a_line_that_moves_and_skill_that_does_not(
    quiet_week: Marked,
) -> None:
    assert [stage.name for stage in quiet_week.stages] == [QUIET, BURST, QUIET]
    assert quiet_week.stages[0].empty_trays == 20
    into_burst, across = quiet_week.changes
    assert into_burst.line.high < 0
    assert into_burst.skill.low < 0 < into_burst.skill.high
    assert across.earlier == 0
    assert across.later == 2
    assert not quiet_week.stand_outs
    assert len(quiet_week.not_told) == 12
    assert quiet_week.rows_read == len(quiet_week.grid.person) + 12 + len(quiet_week.left_out)


def test_bad_input_ends_with_a_message_and_no_report(tmp_path: Path) -> None:
    run = _run(
        SAMPLES / "tray_c.csv", "--key", SAMPLES / "quiet_week_key.csv", "--out", tmp_path / "o"
    )
    assert run.exit_code == ExitCode.INPUT
    assert "the key holds none of the trays answered" in run.output
    assert not (tmp_path / "o").exists()


def test_a_retest_is_a_paired_difference_with_what_luck_alone_would_bring() -> None:
    """The same answers as two sessions of other pieces: T03 learns to feel thickness."""
    drawn = tray_c_drawn(3)
    answers, key = as_read(drawn)
    again, other = as_read(tray_c_drawn(4))
    learnt = again.rows.copy()
    other_cells = other.cells.assign(
        piece="second " + other.cells["piece"], tray="D" + other.cells["tray"]
    )
    learnt["tray"] = "D" + learnt["tray"]
    truth = learnt.merge(other_cells[["tray", "cell", "standard"]], on=["tray", "cell"])["standard"]
    own = (learnt["trainee"] == "T03").to_numpy()
    learnt.loc[own, "answer"] = np.where(truth[own], "A", "R")
    rows = pd.concat(
        [answers.rows.assign(session="first"), learnt.assign(session="second")], ignore_index=True
    )
    cells = pd.concat([key.cells, other_cells], ignore_index=True)
    marked = mark(replace(answers, rows=rows, rows_read=len(rows)), replace(key, cells=cells))
    assert [stage.session for stage in marked.stages] == ["first", "second"]
    (change,) = marked.changes
    people = {marked.grid.people[one.person]: one for one in change.people}
    assert people["T03"].skill.low > 0
    assert people["T03"].skill.value > people["T03"].by_luck > 0, "low marks rise by luck too"
    assert 0 < change.reliability < 1
    said = " ".join(change_words(marked, 0))
    assert "without any learning" in said
