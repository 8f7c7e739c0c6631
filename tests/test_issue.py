"""Issuing versions of a small lot: what is refused, what is signed, what is made again."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
import zipfile
from collections.abc import Iterator
from contextlib import chdir
from pathlib import Path

import pandas as pd
import pytest
from pdf_text import page_texts
from postgres import server
from typer.testing import CliRunner, Result

from lotscreen.cli import app
from lotscreen.cli.exit_codes import ExitCode
from lotscreen.issuing.archive import Archive, archive_of
from lotscreen.issuing.packages import packages_text
from lotscreen.records import InputError

SHEET = "coin_id,lot,type,date,weight_g,diameter_mm,thickness_mm\n" + "".join(
    f"{n},{'A' if n < 9 else 'B'},US half dollar,{1940 + n},{12.30 + 0.01 * n:.2f},"
    f"{30.5 + 0.01 * (n % 3):.2f},{2.15 + 0.01 * (n % 4):.2f}\n"
    for n in range(1, 17)
)
SAID = ("--lot", "A", "--by", "D07", "--at")


def _run(*words: str) -> Result:
    return CliRunner().invoke(app, list(words))


def _done(*words: str) -> str:
    result = _run(*words)
    assert result.exit_code in (ExitCode.DONE, ExitCode.DONE_WITH_DOUBTS), result.output
    return " ".join(result.stdout.split())


def _refused(code: ExitCode, *words: str) -> str:
    result = _run(*words)
    assert result.exit_code == code, result.output
    return " ".join(result.stderr.split())


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a ledger and version 1 of lot A, signed where there is a tool for it."""
    folder = tmp_path_factory.mktemp("desk")
    (folder / "day.csv").write_text(SHEET, encoding="utf-8")
    with chdir(folder):
        _done("record", "lot", *SAID, "2026-11-02", "--description", "halves")
        _done("issue", "day.csv", *SAID, "2026-11-06T16:00")
    return folder


@pytest.fixture
def desk(first: Path, tmp_path: Path) -> Iterator[Path]:
    """A copy of that folder, and the work goes on in it."""
    folder = tmp_path / "desk"
    shutil.copytree(first, folder)
    with chdir(folder):
        yield folder


def _page(path: Path, number: int) -> str:
    text = page_texts(path)[number]
    return " ".join(text.replace("\u200b", "").split())


@pytest.mark.slow
def test_a_correction_makes_the_next_version_and_the_first_stays(desk: Path) -> None:
    one = Path("issued/A-v1/A-v1-report.pdf").read_bytes()
    _done("record", "correction", *SAID, "2026-11-09", "--coin", "3", "--quantity", "weight",
          "--old", "12.33", "--new", "11,33", "--why", "misread")  # fmt: skip
    told = _done("issue", *SAID, "2026-11-09T11:00")
    assert "It replaces version 1" in told
    report = desk / "issued" / "A-v2" / "A-v2-report.pdf"
    assert "It replaces version 1" in _page(report, 0)
    page = _page(report, 1)
    for said in ("coin 3, weight", "12.33", "11,33", "misread", "11.33 g", "Consistent: 8 before"):
        assert said in page, said
    assert Path("issued/A-v1/A-v1-report.pdf").read_bytes() == one
    for version in ("A-v1", "A-v2"):
        assert "byte for byte" in _done("verify", "--papers", f"issued/{version}")


@pytest.mark.usefixtures("desk")
def test_a_correction_of_a_correction_is_followed_and_a_close_reading_replaces() -> None:
    _done("record", "correction", *SAID, "2026-11-09", "--coin", "777", "--quantity", "weight",
          "--old", "12.33", "--new", "12.34", "--why", "misread")  # fmt: skip
    told = _refused(ExitCode.INPUT, "issue", *SAID, "2026-11-09T11:00")
    assert "coin 777, which the sheet does not hold; correct it with" in told
    number = re.findall(r"record correction --entry (\d+) --field coin", told)
    _done("record", "correction", *SAID, "2026-11-09", "--entry", *number, "--field", "coin",
          "--old", "777", "--new", "3", "--why", "wrong number")  # fmt: skip
    _done("issue", *SAID, "2026-11-09T11:00")
    readings = pd.read_csv("issued/A-v2/A-v2-readings.csv")
    weights = readings[(readings["quantity"] == "weight") & (readings["coin_id"] == 3)]
    assert weights["status"].tolist() == ["withdrawn", "used"]
    assert pd.read_csv("issued/A-v2/A-v2-coins.csv")["weight_g"][2] == 12.34
    page = _page(Path("issued/A-v2/A-v2-report.pdf"), 1)
    assert "coin 3, weight" in page
    assert f"entry {number[0]}, coin 777 3 wrong number" in page


@pytest.mark.usefixtures("desk")
def test_an_old_value_that_the_coin_never_had_is_refused() -> None:
    said = ("record", "correction", *SAID, "2026-11-09", "--why", "misread")
    coin = ("--coin", "3", "--quantity", "weight")
    _done(*said, *coin, "--old", "12,33", "--new", "12.40")
    _done(*said, *coin, "--old", "12.40", "--new", "12.41")
    _done(*said, *coin, "--old", "99.99", "--new", "12.42")
    told = _refused(ExitCode.INPUT, "issue", *SAID, "2026-11-09T11:00")
    assert "coin 3, old weight 99.99, but the sheet holds 12.33, 12.4, 12.41; if" in told
    number = re.findall(r"record correction --entry (\d+) --field coin", told)
    _done(*said, "--entry", *number, "--field", "old", "--old", "99,99", "--new", "12.41")
    _done("issue", *SAID, "2026-11-09T11:00")


@pytest.mark.usefixtures("desk")
def test_a_correction_of_an_entry_is_in_force_and_told() -> None:
    _done("record", "correction", *SAID, "2026-11-09", "--entry", "1", "--field", "description",
          "--old", "halves", "--new", "half dollars", "--why", "wording")  # fmt: skip
    _done("issue", *SAID, "2026-11-09T11:00")
    assert "as described half dollars" in _page(Path("issued/A-v2/A-v2-report.pdf"), 0)
    assert "entry 1, description" in _page(Path("issued/A-v2/A-v2-report.pdf"), 1)
    assert "half dollars" in _page(Path("issued/A-v2/A-v2-slip.pdf"), 0)


def test_other_settings_are_told_on_page_2(desk: Path) -> None:
    (desk / "own.toml").write_text("limit = 0.01\n", encoding="utf-8")
    _done("issue", "day.csv", *SAID, "2026-11-09", "--settings", "own.toml")
    page = _page(desk / "issued" / "A-v2" / "A-v2-report.pdf", 1)
    assert "The settings are OTHERS" in page
    assert "The files are the same." in page


@pytest.mark.usefixtures("desk")
def test_what_cannot_be_issued_says_why() -> None:
    _done("record", "lot", "--lot", "C", "--by", "D07", "--at", "2026-11-02",
          "--description", "pennies")  # fmt: skip
    at = ("--by", "D07", "--at", "2026-11-09")
    assert "no lot C (lots there: 'A', 'B')" in _refused(
        ExitCode.INPUT, "issue", "day.csv", "--lot", "C", *at
    )
    assert "nothing was issued yet" in _refused(ExitCode.INPUT, "issue", "--lot", "C", *at)
    assert "open it with" in _refused(ExitCode.INPUT, "issue", "day.csv", "--lot", "B", *at)
    _done("record", "correction", "--lot", "A", *at, "--coin", "12", "--quantity", "weight",
          "--new", "12.00", "--why", "of the other lot")  # fmt: skip
    assert "coin 12, which the sheet does not hold" in _refused(
        ExitCode.INPUT, "issue", "day.csv", "--lot", "A", *at
    )


def test_an_archive_that_is_gone_or_another_is_refused(desk: Path) -> None:
    _done("record", "decision", *SAID, "2026-11-09", "--disposition", "hold", "--reasons", "wait")
    archive = desk / "issued" / "A-v1" / "A-v1-archive.zip"
    content = archive.read_bytes()
    archive.write_bytes(content[:-1] + b"x")
    told = _refused(ExitCode.INPUT, "issue", *SAID, "2026-11-09")
    assert "is not the archive that the ledger knows" in told
    archive.unlink()
    assert "cannot be read" in _refused(ExitCode.INPUT, "issue", *SAID, "2026-11-09")


@pytest.mark.parametrize("gone", [False, True], ids=["a byte of it", "all of it"])
def test_a_lost_archive_is_a_difference_and_the_rest_is_compared(desk: Path, gone: bool) -> None:
    archive = desk / "issued" / "A-v1" / "A-v1-archive.zip"
    content = archive.read_bytes()
    archive.write_bytes(content[:900] + bytes([content[900] ^ 1]) + content[901:])
    if gone:
        archive.unlink()
    (desk / "issued" / "A-v1" / "A-v1-coins.csv").write_text("coin_id\n", encoding="utf-8")
    result = _run("verify", "--papers", "issued/A-v1")
    assert result.exit_code == ExitCode.VERIFY_DIFFERS, result.output
    told = " ".join(result.stdout.split())
    altered = "A-v1-coins.csv" if gone else "A-v1-archive.zip, A-v1-coins.csv"
    assert f"NOT as issued: {altered} " in told
    assert ("Missing: A-v1-archive.zip" in told) == gone
    assert "NOT made again, for the archive cannot be used" in told
    assert "no such folder" in _refused(ExitCode.INPUT, "verify", "--papers", "issued/A-v7")


def test_a_ledger_that_was_altered_is_not_issued_from(desk: Path) -> None:
    content = (desk / "lotscreen.ledger").read_bytes()
    (desk / "lotscreen.ledger").write_bytes(content.replace(b'"halves"', b'"pennie"'))
    assert "does not hold at entry 1" in _refused(
        ExitCode.INPUT, "issue", "day.csv", *SAID, "2026-11-09"
    )
    assert _run("verify").exit_code == ExitCode.VERIFY_DIFFERS
    assert "entry 1 is not what was written down" in " ".join(_run("verify").stdout.split())


@pytest.mark.slow
def test_a_version_is_the_same_whatever_the_store(first: Path, tmp_path: Path) -> None:
    with server() as one, chdir(tmp_path):
        at = ("--ledger", one.address)
        shutil.copy(first / "day.csv", "day.csv")
        _done("record", "lot", *SAID, "2026-11-02", "--description", "halves", *at)
        _done("issue", "day.csv", *SAID, "2026-11-06T16:00", *at)
        assert "byte for byte" in _done("verify", "--papers", "issued/A-v1", *at)
        _done("ledger", "export", "desks.jsonl", *at)
    with chdir(first):
        _done("ledger", "export", str(tmp_path / "desk.jsonl"))
    desks, desk = ((tmp_path / name).read_bytes() for name in ("desks.jsonl", "desk.jsonl"))
    assert desks == desk
    for path in (first / "issued" / "A-v1").iterdir():
        assert path.read_bytes() == (tmp_path / "issued" / "A-v1" / path.name).read_bytes()


def test_a_member_that_was_altered_is_found(desk: Path) -> None:
    content = (desk / "issued" / "A-v1" / "A-v1-archive.zip").read_bytes()
    archive = archive_of(content, "archive.zip")
    assert archive.to_bytes() == content
    members = {**archive.members, "sheets/001/day.csv": b"coin_id,weight_g\n"}
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as book, zipfile.ZipFile(io.BytesIO(content)) as old:
        book.writestr("manifest.json", old.read("manifest.json"))
        for name, member in members.items():
            book.writestr(name, member)
    with pytest.raises(InputError, match=r"sheets/001/day\.csv is not what was frozen"):
        archive_of(held.getvalue(), "archive.zip")
    with pytest.raises(InputError, match="no archive of an issued report"):
        archive_of(b"PK", "archive.zip")
    with pytest.raises(InputError, match="no archive of an issued report"):
        archive_of(Archive({}, {"lot": "A"}).to_bytes(), "archive.zip")


def test_the_constraints_name_every_package_that_takes_part() -> None:
    lines = packages_text().splitlines()
    names = [line.partition("==")[0] for line in lines]
    assert names == sorted(names)
    assert {"numpy", "pandas", "scipy", "typst", "sqlalchemy", "python-dateutil"} <= set(names)
    assert not {"pytest", "lotscreen", "psycopg"} & set(names)


@pytest.mark.slow
@pytest.mark.skipif(shutil.which("ssh-keygen") is None, reason="ssh-keygen: not on this machine")
def test_a_signature_by_a_key_of_the_user_s_own(desk: Path) -> None:
    for name in ("own", "other"):
        made = ["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-C", name, "-f", name]
        subprocess.run(made, check=True)
    Path("signers").write_text("D07 " + Path("own.pub").read_text(), encoding="utf-8")
    Path("others").write_text("D11 " + Path("other.pub").read_text(), encoding="utf-8")
    _done("record", "decision", *SAID, "2026-11-09", "--disposition", "hold", "--reasons", "wait")
    assert "Signed: A-v2-digests.txt.sig" in _done("issue", *SAID, "2026-11-09", "--sign", "own")
    papers = ("verify", "--papers", "issued/A-v2")
    assert "A-v2-digests.txt.sig holds: D07" in _done(*papers, "--signers", "signers")
    assert "give the keys" in _refused(ExitCode.INPUT, *papers)
    other = _run(*papers, "--signers", "others")
    assert other.exit_code == ExitCode.VERIFY_DIFFERS
    assert "does NOT hold" in other.stdout
    checked = subprocess.run(
        ["sha256sum", "-c", "--quiet", "A-v2-digests.txt"],
        cwd=desk / "issued" / "A-v2", capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert checked.returncode == 0, checked.stdout


@pytest.mark.slow
@pytest.mark.usefixtures("desk")
def test_a_key_that_is_not_there_leaves_the_papers_issued() -> None:
    _done("record", "decision", *SAID, "2026-11-09", "--disposition", "hold", "--reasons", "wait")
    told = _refused(ExitCode.OUTPUT, "issue", *SAID, "2026-11-09", "--sign", "no-such-key")
    assert "issued, unsigned" in told
    assert Path("issued/A-v2/A-v2-report.pdf").exists()
