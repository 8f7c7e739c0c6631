"""One audit from the command line: two parcels, two people, drift after lunch, print on
Friday, a correction on Monday, version 2. All invented."""

from __future__ import annotations

import csv
import hashlib
import io
import os
import re
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from contextlib import chdir
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pandas as pd
import pypdf
import pytest
from pdf_text import page_texts
from typer.testing import CliRunner, Result

from lotscreen.cli import app
from lotscreen.cli.exit_codes import ExitCode

SAMPLE = Path(__file__).parent.parent / "sample_lots" / "two_parcels.csv"
LUNCH_AFTER, DRIFT_G = 75, -0.04
PAPERS = ("annex.pdf", "letter.pdf", "list.pdf", "report.pdf", "slip.pdf")
FILES = (*PAPERS, "archive.zip", "coins.csv", "coins.xlsx", "digests.txt", "readings.csv")
BARRED = re.compile(r"\b(fake|forge[dr]|forgery|counterfeit|genuin|authentic|guarante)\w*", re.I)

REGISTER = """Einlieferungen der Woche, erfunden

Los;Datum;Durch;Einlieferer;Beschreibung;angegeben;gezählt;Plombe;Lagerort
K-01;2026-11-02T09:00;D07;K-01;60 dollars;60;60;S-114;safe 2
K-02;2026-11-02T09:20;do.;K-02;do.;60;60;S-115;do.
"""
HAND_OVERS = """lot,when,by,from,to,reason,remark of the porter
K-01,2026-11-02 09:05,D07,K-01,D07,audit before the sale,by hand
K-02,2026-11-02 09:25,do.,K-02,do.,do.,
K-02,2026-11-05 13:00,D07,D07,D09,measured after lunch,
"""


def _rows() -> Iterator[list[str]]:
    """The sample's sheet with a person a row and check weights, the balance low after lunch."""
    text = SAMPLE.read_text(encoding="utf-8").splitlines()[2:]
    head, *body = csv.reader(text, delimiter=";")
    yield [*head, "Person"]
    for number, row in enumerate(body):
        person = "D07" if row[0] == "K-01" else "D09"
        if number in (0, 30, 60, LUNCH_AFTER):
            yield [row[0], "Prüfgewicht 20,00 g", "", "", "20,00", "", "", person]
        if number >= LUNCH_AFTER:
            row[4] = _shifted(row[4], DRIFT_G)
        yield [*row, person]
    yield ["K-02", "Prüfgewicht 20,00 g", "", "", "19,96", "", "", "D09"]


def _shifted(text: str, by_g: float) -> str:
    return f"{float(text.replace(',', '.')) + by_g:.2f}".replace(".", ",")


def _anew() -> Iterator[list[str]]:
    """Monday: what was weighed after lunch is weighed again, on a balance that reads right."""
    yield ["Stück", "Größe", "alt", "neu", "Grund"]
    coins = [row for row in _rows() if row[1].isdecimal()]
    for row in coins[LUNCH_AFTER:]:
        yield [row[1], "weight", row[4], _shifted(row[4], -DRIFT_G), "balance low after lunch"]


def _sheet(path: Path, rows: Iterator[list[str]]) -> Path:
    held = io.StringIO(newline="")
    csv.writer(held, delimiter=";").writerows(rows)
    path.write_text(held.getvalue(), encoding="utf-8")
    return path


def _run(*words: str) -> Result:
    return CliRunner().invoke(app, list(words))


def _done(*words: str) -> str:
    result = _run(*words)
    assert result.exit_code in (ExitCode.DONE, ExitCode.DONE_WITH_DOUBTS), result.output
    assert max(map(len, result.stdout.splitlines())) <= 80
    return result.stdout


@cache
def _text(path: Path, page: int | None = None) -> str:
    pages = page_texts(path)
    text = " ".join(pages) if page is None else pages[page]
    return " ".join(text.replace("\u200b", "").split())


def _digests(folder: Path) -> dict[str, str]:
    return {p.name: hashlib.sha256(p.read_bytes()).hexdigest() for p in sorted(folder.iterdir())}


pytestmark = pytest.mark.slow


@dataclass(frozen=True, slots=True)
class Week:
    """What the commands left: their folder, and v1's files as they were on Friday."""

    folder: Path
    friday: dict[str, str]
    head: str


@pytest.fixture(scope="module")
def week(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Week]:
    folder = tmp_path_factory.mktemp("audit")
    (folder / "register.csv").write_text(REGISTER, encoding="utf-8")
    (folder / "hand_overs.csv").write_text(HAND_OVERS, encoding="utf-8")
    _sheet(folder / "day.csv", _rows())
    _sheet(folder / "anew.csv", _anew())
    with chdir(folder):
        _done("record", "lot", "--sheet", "register.csv")
        _done("record", "custody", "--sheet", "hand_overs.csv")
        for lot, at, read in (("K-01", "T09:30", "20.00"), ("K-02", "T16:40", "19,96")):
            said = ("--lot", lot, "--by", "D09", "--at", f"2026-11-05{at}", "--instrument", "B-2")
            _done("record", "instrument", *said, "--what", "balance", "--step", "0.01",
                  "--unit", "g", "--calibrated", "2026-01-15")  # fmt: skip
            _done("record", "check", *said, "--stated", "20.00", "--read", read)
        for lot in ("K-01", "K-02"):
            told = _done("issue", "day.csv", "--lot", lot, "--by", "D07", "--at",
                         "2026-11-06T16:00")  # fmt: skip
        friday = _digests(folder / "issued" / "K-02-v1")
        head = told.split()[-1]
        _done("record", "correction", "--sheet", "anew.csv", "--lot", "K-02", "--by", "D07",
              "--at", "2026-11-09T09:30")  # fmt: skip
        _done("record", "decision", "--lot", "K-02", "--coin", "77", "--by", "D07", "--at",
              "2026-11-09T10:00", "--disposition", "refer", "--reasons", "density first",
              "--dissent", "D09 would return it now", "--second", "D11")  # fmt: skip
        for coin, test, value in (("63", "water density", "22,93 g"), ("77", "magnet", "no")):
            _done("record", "test", "--lot", "K-02", "--by", "D07", "--at", "2026-11-09T10:20",
                  "--coin", coin, "--test", test, "--value", value, "--temperature", "21",
                  "--instrument", "B-2")  # fmt: skip
        _done("record", "offer", "--lot", "K-02", "--by", "D07", "--at", "2026-11-09T10:30",
              "--bid", "1210,50", "--currency", "USD", "--spot", "silver=30",
              "--spot-at", "2026-11-09T10:25", "--until", "2026-11-09T18:00")  # fmt: skip
        _done("issue", "--lot", "K-02", "--by", "D07", "--at", "2026-11-09T11:00")
        yield Week(folder, friday, head)


def test_friday_s_version_is_left_as_it_was(week: Week) -> None:
    first = week.folder / "issued" / "K-02-v1"
    assert _digests(first) == week.friday
    assert sorted(week.friday) == sorted(f"K-02-v1-{name}" for name in FILES)
    second = week.folder / "issued" / "K-02-v2"
    assert sorted(p.name for p in second.iterdir()) == sorted(f"K-02-v2-{n}" for n in FILES)


def test_version_2_names_the_one_it_replaces_and_page_2_shows_what_changed(week: Week) -> None:
    report = week.folder / "issued" / "K-02-v2" / "K-02-v2-report.pdf"
    assert "It replaces version 1" in _text(report, 0)
    page = _text(report, 1)
    assert "What changed since version 1" in page
    assert "balance low after lunch" in page
    assert "45 correction(s), 1 decision(s), 2 second test(s), 1 offer(s)" in page
    assert "The settings are the same." in page
    first = week.folder / "issued" / "K-02-v1" / "K-02-v1-report.pdf"
    assert "the first" in _text(first, 0)
    assert "What changed since" not in _text(first)


def test_the_digest_of_the_ledger_is_printed_on_every_paper(week: Week) -> None:
    for paper in PAPERS:
        path = week.folder / "issued" / "K-02-v1" / f"K-02-v1-{paper}"
        assert f"Ledger {week.head[:16]}" in _text(path, 0), paper
    assert week.head in _text(week.folder / "issued" / "K-02-v1" / "K-02-v1-report.pdf", 0)
    with chdir(week.folder):
        assert "entry" in _done("verify", "--head", week.head)


@pytest.mark.parametrize("version", ["K-02-v1", "K-02-v2"])
def test_made_again_from_the_archive_the_bytes_are_the_same(week: Week, version: str) -> None:
    with chdir(week.folder):
        told = _done("verify", "--papers", f"issued/{version}")
    assert "byte for byte" in told


def test_another_machine_makes_the_same_papers(week: Week) -> None:
    there = {"PYTHONHASHSEED": "2", "TZ": "Pacific/Auckland", "LC_ALL": "C", "OMP_NUM_THREADS": "4"}
    door = "import sys; from lotscreen.cli import main; sys.exit(main())"
    run = subprocess.run(
        [sys.executable, "-c", door, "verify", "--papers", "issued/K-02-v2"],
        cwd=week.folder, env={**os.environ, **there}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert run.returncode == ExitCode.DONE, run.stdout + run.stderr


def test_a_paper_that_was_altered_is_found(week: Week, tmp_path: Path) -> None:
    source = week.folder / "issued" / "K-02-v1"
    copy = tmp_path / "K-02-v1"
    copy.mkdir()
    for path in source.iterdir():
        (copy / path.name).write_bytes(path.read_bytes())
    (copy / "K-02-v1-coins.csv").write_text("coin_id\n", encoding="utf-8")
    (copy / "K-02-v1-slip.pdf").unlink()
    with chdir(week.folder):
        result = _run("verify", "--papers", str(copy))
    assert result.exit_code == ExitCode.VERIFY_DIFFERS
    assert "NOT as issued: K-02-v1-coins.csv" in result.stdout
    assert "Missing: K-02-v1-slip.pdf" in result.stdout


def test_what_was_weighed_anew_is_trusted_again(week: Week) -> None:
    for version, suspended in (("v1", 45), ("v2", 0)):
        readings = pd.read_csv(week.folder / "issued" / f"K-02-{version}" /
                               f"K-02-{version}-readings.csv")  # fmt: skip
        assert (readings["status"] == "suspended").sum() == suspended
    assert (readings["status"] == "withdrawn").sum() == 45
    coins = pd.read_csv(week.folder / "issued" / "K-02-v2" / "K-02-v2-coins.csv")
    assert coins.loc[coins["coin_id"] == 77, "disposition"].item() == "refer"


def test_second_tests_stand_in_the_report_and_the_offer_on_the_slip(week: Week) -> None:
    folder = week.folder / "issued" / "K-02-v2"
    for name in ("report", "annex"):
        text = _text(folder / f"K-02-v2-{name}.pdf")
        assert "Water density (B-2): 10.29" in text
        assert "Magnet" in text
    assert "After:" in _text(folder / "K-02-v2-report.pdf")
    assert "After:" not in _text(folder / "K-02-v2-annex.pdf")  # no share of an explanation
    slip = _text(folder / "K-02-v2-slip.pdf")
    assert "Offer: 1210.50 USD, at a spot of silver=30 of 2026-11-09, 10:25" in slip
    assert "It is no offer." in _text(week.folder / "issued" / "K-02-v1" / "K-02-v1-slip.pdf")
    assert "1210.50" not in _text(folder / "K-02-v2-letter.pdf")


def test_nothing_of_the_other_parcel_is_in_the_papers(week: Week) -> None:
    for path in sorted((week.folder / "issued" / "K-02-v2").iterdir()):
        if path.suffix == ".pdf":
            assert "K-01" not in _text(path), path.name
        if path.suffix == ".csv":
            assert "K-01" not in path.read_text(encoding="utf-8"), path.name


def test_every_paper_is_accessible_and_accuses_nobody(week: Week) -> None:
    for folder in sorted((week.folder / "issued").iterdir()):
        for path in sorted(folder.iterdir()):
            assert not BARRED.search(path.name)
            if path.suffix == ".pdf":
                reader = pypdf.PdfReader(path)
                assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
                assert b"pdfuaid:part" in path.read_bytes()
                assert not BARRED.findall(_text(path)), path.name
    slip = _text(week.folder / "issued" / "K-02-v1" / "K-02-v1-slip.pdf")
    for word in ("not consistent", "set aside", "departs"):
        assert word not in slip
    listed = _text(week.folder / "issued" / "K-02-v1" / "K-02-v1-list.pdf")
    assert "consistent" not in listed


def test_the_court_gets_readings_and_evidence_without_a_prior(week: Week) -> None:
    annex = _text(week.folder / "issued" / "K-02-v2" / "K-02-v2-annex.pdf")
    for said in ("without a prior", "D09 would return it now", "withdrawn", "25,22", "Method",
                 "cannot see", "B-2", "measured after lunch"):  # fmt: skip
        assert said in annex, said
    letter = _text(week.folder / "issued" / "K-02-v2" / "K-02-v2-letter.pdf")
    assert "refer: density first" in letter
    assert "measured again in your presence" in letter


def test_the_archive_holds_the_raw_sheet_and_opens_anywhere(week: Week) -> None:
    path = week.folder / "issued" / "K-02-v2" / "K-02-v2-archive.zip"
    with zipfile.ZipFile(path) as archive:
        names = archive.namelist()
        raw = archive.read("sheets/001/day.csv")
    assert raw == (week.folder / "day.csv").read_bytes()
    assert {"ledger.jsonl", "settings.json", "standards.json", "packages.txt"} <= set(names)


def test_where_nothing_changed_nothing_is_issued(week: Week) -> None:
    with chdir(week.folder):
        told = _done("issue", "--lot", "K-02", "--by", "D07", "--at", "2026-11-10T09:00")
    assert "nothing is issued" in " ".join(told.split())
    assert not (week.folder / "issued" / "K-02-v3").exists()
