"""``lotscreen tray build``: files, law, key apart, nothing lost."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import openpyxl
import pandas as pd
import pytest
from pdf_text import page_texts
from tray_sets import REGISTER, small_register, write_register
from typer.testing import CliRunner, Result

from lotscreen.cli import app
from lotscreen.report.tray.answers_workbook import ANSWERS, HEADERS

KEY_COLUMNS = (
    "tray,cell,piece,type,date,kind,status,weight_g,diameter_mm,thickness_mm,difficulty,"
    "told_by,tellable"
)


def _run(*words: object) -> Result:
    return CliRunner().invoke(app, ["tray", *map(str, words)])


def _build(folder: Path, *words: object) -> Result:
    return _run("build", folder / "reg.csv", "--out", folder / "out", *words)


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A certifying set of two trays for three trainees, one of whom hears badly."""
    folder = tmp_path_factory.mktemp("trays")
    write_register(folder)
    words = ("--purpose", "certifying", "--trainees", "T01,T02,T03", "--seed", 3, "--name", "C",
             "--adjust", "T02=sight", "--keep-until", "2027-06-30")  # fmt: skip
    result = _build(folder, *words)
    assert result.exit_code == 0, result.output
    return folder


def test_all_files_are_there(built: Path):
    assert sorted(p.name for p in (built / "out").iterdir()) == [
        "KEY-told.csv", "KEY.csv", "KEY.pdf", "answers.xlsx", "custody.csv", "custody.pdf",
        "trays.pdf",
    ]  # fmt: skip


def test_the_key_says_key_on_every_page_and_is_in_no_other_file(built: Path):
    pages = page_texts(built / "out" / "KEY.pdf")
    assert len(pages) == 3
    assert all("KEY" in page for page in pages)
    key = pd.read_csv(built / "out" / "KEY.csv")
    trays = "\n".join(page_texts(built / "out" / "trays.pdf"))
    for kind in set(key["kind"]) - {"worn"}:
        assert kind not in trays
    for piece in key["piece"]:
        assert piece not in trays


def test_the_key_has_the_columns_that_marking_reads(built: Path):
    lines = (built / "out" / "KEY.csv").read_text().splitlines()
    assert lines[0] == KEY_COLUMNS
    key = pd.read_csv(built / "out" / "KEY.csv")
    assert len(key) == 50
    assert list(key["tray"].unique()) == ["C-1", "C-2"]
    assert key.groupby("tray")["cell"].apply(list).map(lambda c: c == list(range(1, 26))).all()
    assert set(key["status"]) == {"honest", "not honest"}
    register = small_register().set_index("piece")
    for row in key.itertuples():
        assert register.loc[row.piece, "status"] == row.status
        assert float(register.loc[row.piece, "weight (g)"]) == row.weight_g


def test_the_trays_come_in_printing_order(built: Path):
    heads = [re.search(r"(Tray C-\d|tray C-\d, trainee T\d\d|Practice trays, set C)", page)
             for page in page_texts(built / "out" / "trays.pdf")]  # fmt: skip
    assert [head[1] if head else "" for head in heads] == [
        "Practice trays, set C",
        *(
            word
            for tray in ("C-1", "C-2")
            for word in (f"Tray {tray}", *(f"tray {tray}, trainee T0{n}" for n in (1, 2, 3)))
        ),
    ]


def test_law_and_fairness_stand_where_they_belong(built: Path):
    pages = page_texts(built / "out" / "trays.pdf")
    for page in pages[2:5]:
        assert "kept until 2027-06-30" in " ".join(page.split())
        assert "appealed" in page
        assert "Accept" in page
    assert "written permission" in " ".join(pages[0].split())
    assert "Agreed: sight" in pages[3]
    assert "Agreed" not in pages[2]
    custody = "\n".join(page_texts(built / "out" / "custody.pdf"))
    assert "NB-17/2026" in custody
    assert "Counted back by" in custody


def test_an_adjusted_set_holds_no_piece_told_by_that_test_alone(built: Path):
    key = pd.read_csv(built / "out" / "KEY.csv")
    assert not key["told_by"].str.startswith("eye").any()
    page = " ".join(page_texts(built / "out" / "KEY.pdf")[0].split())
    assert "At most 12 pieces of the set" in page
    assert "too little to certify anybody: 30 of 30 found would show 90 %" in page
    assert "Left out because a trainee" in page


def test_the_workbook_offers_answers_and_locks_the_rest(built: Path):
    book = openpyxl.load_workbook(built / "out" / "answers.xlsx")
    page = book["answers"]
    rows = list(page.iter_rows())
    assert tuple(cell.value for cell in rows[0]) == HEADERS
    assert len(rows) == 1 + 3 * 2 * 25
    assert page.protection.sheet
    assert {c.column_letter for c in rows[1] if not c.protection.locked} == {"F", "G", "H"}
    offered = {str(v.sqref): v.formula1 for v in page.data_validations.dataValidation}
    assert offered["F2:F151"] == f'"{",".join(ANSWERS)}"'
    assert offered["G2:G151"] == '"1,2,3,4,5"'


def test_a_workbook_filled_in_is_marked_by_the_key(built: Path, tmp_path: Path):
    """T01 answers as the key says, T02 the other way round, T03 not at all."""
    key = pd.read_csv(built / "out" / "KEY.csv").set_index(["tray", "cell"])
    book = openpyxl.load_workbook(built / "out" / "answers.xlsx")
    for row in book["answers"].iter_rows(min_row=2):
        trainee, tray, cell = (one.value for one in row[:3])
        honest = key.loc[(tray, cell), "status"] == "honest"
        if trainee != "T03":
            row[5].value = "accept" if honest == (trainee == "T01") else "set aside"
            row[6].value, row[7].value = 4, 12.5
    book.save(tmp_path / "answers.xlsx")
    result = _run("mark", tmp_path / "answers.xlsx", "--key", built / "out" / "KEY.csv",
                  "--no-reports")  # fmt: skip
    said = " ".join(result.stdout.split())
    other = int((key["status"] != "honest").sum())
    assert f"Hits {other}/{other}, false alarms 0/{50 - other}" in said
    assert f"Hits 0/{other}, false alarms {50 - other}/{50 - other}" in said
    assert "100 marked" in said
    assert "T03" not in said


@pytest.mark.slow
def test_the_same_command_again_changes_nothing(built: Path, tmp_path: Path):
    shutil.copytree(built, tmp_path / "again")
    words = ("--purpose", "certifying", "--trainees", "T01,T02,T03", "--seed", 3, "--name", "C",
             "--adjust", "T02=sight", "--keep-until", "2027-06-30")  # fmt: skip
    history = (tmp_path / "again" / "reg.history.csv").read_bytes()
    result = _build(tmp_path / "again", *words)
    assert result.exit_code == 0, result.output
    assert "all there already" in result.stdout
    assert (tmp_path / "again" / "reg.history.csv").read_bytes() == history
    (tmp_path / "fresh").mkdir()
    write_register(tmp_path / "fresh")
    assert _build(tmp_path / "fresh", *words).exit_code == 0
    for path in (built / "out").iterdir():
        assert (tmp_path / "fresh" / "out" / path.name).read_bytes() == path.read_bytes()


@pytest.mark.slow
def test_another_set_of_that_name_is_refused_and_a_new_one_has_new_pieces(
    built: Path, tmp_path: Path
):
    shutil.copytree(built, tmp_path / "next")
    refused = _build(tmp_path / "next", "--name", "C", "--trainees", "T01", "--seed", 9)
    assert refused.exit_code == 6
    assert "a set C with other pieces is in the history" in refused.stderr
    result = _run("build", tmp_path / "next" / "reg.csv", "--out", tmp_path / "d", "--name", "D",
                  "--purpose", "certifying", "--trainees", "T03")  # fmt: skip
    assert result.exit_code == 0, result.output
    old, new = (set(pd.read_csv(p / "KEY.csv")["piece"]) for p in (built / "out", tmp_path / "d"))
    assert not old & new


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (("--purpose", "fun"), 5, "it must be one of learning, certifying, vigilance"),
        (("--trainees", "Anna"), 5, "people are codes here, never names"),
        (("--name", "a/b"), 5, "no name of a set"),
        (("--keep-until", "soon"), 5, "write a day as in 2027-06-30"),
        (("--for", "T03"), 2, "--for needs --answers and --key"),
        (("--desk",), 2, "give a register, or --desk"),
        (("--trays", "40"), 4, "build fewer trays"),
    ],
)
def test_wrong_words_get_a_message_and_write_nothing(tmp_path, words, code, told):
    write_register(tmp_path)
    result = _build(tmp_path, *words)
    assert result.exit_code == code
    assert told in " ".join(result.stderr.replace("│", " ").split())
    assert sorted(p.name for p in tmp_path.iterdir()) == ["reg.csv"]


def test_the_sample_register_builds_and_an_empty_tray_does_not_show(tmp_path: Path):
    result = _run("build", REGISTER, "--purpose", "vigilance", "--empty", "100", "--name", "V",
                  "--history", tmp_path / "h.csv", "--out", tmp_path / "v")  # fmt: skip
    assert result.exit_code == 0, result.output
    assert set(pd.read_csv(tmp_path / "v" / "KEY.csv")["status"]) == {"honest"}
    assert "vigilance" not in "".join(page_texts(tmp_path / "v" / "trays.pdf"))
    assert "A tray may hold no piece" in page_texts(tmp_path / "v" / "trays.pdf")[0]


def test_doubts_of_the_register_are_told_and_change_the_exit_code(tmp_path: Path):
    sheet = small_register().astype(object)
    sheet.loc[4, "weight (g)"] = f"{sheet.loc[4, 'weight (g)']}?"
    sheet.loc[9, "type"] = "Thaler of Nowhere"
    sheet.to_csv(tmp_path / "reg.csv", index=False)
    result = _build(tmp_path, "--trays", 1, "--purpose", "certifying")
    assert result.exit_code == 3, result.output
    said = " ".join(result.stdout.split())
    assert "rows of reg.csv that were read with a doubt: 1;" in said
    assert "stay out of trays until somebody sees to them: 2;" in said
    key = " ".join(page_texts(tmp_path / "out" / "KEY.pdf")[0].split())
    assert "Pieces kept out of trays: 2" in key
    for row in (4, 9):
        assert sheet["piece"][row] in key
        assert sheet["piece"][row] not in set(pd.read_csv(tmp_path / "out" / "KEY.csv")["piece"])
