"""``record`` and ``ledger`` from the command line: options, sheets of any kind, refusals."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from contextlib import chdir
from pathlib import Path

import openpyxl
import pytest
from postgres import server
from typer.testing import CliRunner, Result

from lotscreen.cli import app
from lotscreen.cli.exit_codes import ExitCode
from lotscreen.issuing import signature
from lotscreen.ledger.kinds import KINDS
from lotscreen.ledger.store import open_ledger
from lotscreen.records import OutputError
from lotscreen.second_tests.sheet import read_tests

AT = ("--by", "D07", "--at", "2026-11-06T09:00")


def _run(*words: str) -> Result:
    return CliRunner().invoke(app, list(words))


def _done(*words: str) -> str:
    result = _run(*words)
    assert result.exit_code == ExitCode.DONE, result.output
    assert max(map(len, result.stdout.splitlines()), default=0) <= 80
    return " ".join(result.stdout.split())


def _refused(*words: str, code: ExitCode = ExitCode.INPUT) -> str:
    result = _run(*words)
    assert result.exit_code == code, result.output
    return " ".join(result.stderr.split())


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Path]:
    """A folder with a ledger in which lot P-1 is open."""
    with chdir(tmp_path):
        _done("record", "lot", "--lot", "P-1", *AT, "--description", "halves")
        yield tmp_path


def _last() -> dict[str, object]:
    return open_ledger("lotscreen.ledger").entries("P-1")[-1].said()


RECORDS = {
    "custody": ("--from", "K-01", "--to", "D07", "--why", "audit", "--seal", "S-1"),
    "instrument": ("--instrument", "B-2", "--what", "balance", "--step", "0,01", "--unit", "g"),
    "check": ("--instrument", "B-2", "--stated", "20.00", "--read", "19,96"),
    "test": ("--coin", "7", "--test", "conductivity", "--value", "45,2", "--instrument", "C-1"),
    "decision": ("--coin", "7", "--disposition", "Hold", "--reasons", "density first"),
    "offer": ("--bid", "120", "--currency", "USD", "--spot", "silver=30", "--spot-at",
              "2026-11-06T08:55", "--until", "2026-11-06T18:00"),
    "correction": ("--coin", "7", "--quantity", "weight", "--new", "12,30", "--why", "misread"),
}  # fmt: skip


@pytest.mark.usefixtures("desk")
@pytest.mark.parametrize("kind", list(RECORDS))
def test_every_kind_is_written_down(kind: str) -> None:
    told = _done("record", kind, "--lot", "P-1", *AT, *RECORDS[kind])
    assert told.startswith(f"Written down: lot P-1, entry 2, {kind}. Digest ")
    said = _last()
    words = dict(zip(RECORDS[kind][::2], RECORDS[kind][1::2], strict=True))
    assert {name.removeprefix("--").replace("-", "_") for name in words} <= set(said)


@pytest.mark.parametrize("kind", list(KINDS))
def test_the_options_of_a_kind_are_its_fields(kind: str) -> None:
    told = _run("record", kind, "--help").stdout
    common = {"--lot", "--by", "--at", "--ledger", "--sheet", "--help"}
    options = set(re.findall(r"^  (--[a-z-]+)", told, re.MULTILINE))
    fields = {f"--{field.name.replace('_', '-')}" for field in KINDS[kind]}
    assert options == common | fields


@pytest.mark.usefixtures("desk")
def test_numbers_are_numbers_and_a_new_reading_keeps_its_decimals() -> None:
    for kind in ("check", "test", "correction"):
        _done("record", kind, "--lot", "P-1", *AT, *RECORDS[kind])
    entries = open_ledger("lotscreen.ledger").entries("P-1")[1:]
    check, test, correction = (entry.said() for entry in entries)
    assert (check["stated"], check["read"], check["unit"]) == (20.0, 19.96, "g")
    assert test["value"] == "45.2"
    assert correction["new"] == "12,30"


@pytest.mark.usefixtures("desk")
def test_a_correction_of_an_entry_keeps_the_old_value() -> None:
    _done("record", "correction", "--lot", "P-1", *AT, "--entry", "1", "--field", "description",
          "--new", "half dollars", "--why", "wording")  # fmt: skip
    assert (_last()["old"], _last()["new"]) == ("halves", "half dollars")


WRONG = [
    (("custody", "--from", "K-01", "--to", "D07"), "why is missing"),
    (("custody", "--from", "K-01", "--to", "two words", "--why", "x"), "to 'two words' is no code"),
    (("check", "--instrument", "B", "--stated", "twenty", "--read", "2"), "stated 'twenty'"),
    (("test", "--coin", "7", "--test", "smell", "--value", "2"), "'smell' is no test known here"),
    (("test", "--coin", "7", "--test", "magnet", "--value", "perhaps"), "yes, weak, no"),
    (("decision", "--disposition", "melt", "--reasons", "x"), "disposition 'melt' is not known"),
    (("correction", "--new", "2", "--why", "x"), "a correction names a coin and a quantity"),
    (("correction", "--entry", "1", "--coin", "7", "--quantity", "weight", "--new", "2", "--why",
      "x"), "a correction names a coin and a quantity"),
    (("correction", "--entry", "9", "--field", "seal", "--new", "2", "--why", "x"), "entry 9"),
    (("correction", "--entry", "1", "--field", "sael", "--new", "2", "--why", "x"),
     "field 'sael' is not known; it may be description, consignor, seal"),
    (("correction", "--entry", "1", "--field", "count_counted", "--new", "many", "--why", "x"),
     "count_counted 'many' is no count"),
    (("correction", "--entry", "1", "--field", "description", "--old", "dimes", "--new", "x",
      "--why", "x"), "old 'dimes' is not what entry 1 holds as its description (halves)"),
    (("lot", "--description", "again"), "lot P-1: is open already"),
    (("correction", "--coin", "7", "--quantity", "weight", "--new", "heavy", "--why", "x"),
     "new 'heavy' is no plain number"),
]  # fmt: skip


@pytest.mark.usefixtures("desk")
@pytest.mark.parametrize(("words", "told"), WRONG)
def test_what_cannot_be_taken_says_what_to_write(words: tuple[str, ...], told: str) -> None:
    assert told in _refused("record", words[0], "--lot", "P-1", *AT, *words[1:])
    assert open_ledger("lotscreen.ledger").entries("P-1")[-1].number == 1


@pytest.mark.usefixtures("desk")
def test_a_lot_that_is_not_open_and_a_time_that_is_none_are_refused() -> None:
    custody = ("record", "custody", "--lot", "P-9", *AT, *RECORDS["custody"])
    assert "lot P-9: is not in the ledger" in _refused(*custody)
    lot = ("record", "lot", "--lot", "P-2", "--by", "D07", "--description", "x")
    assert "'6.11.2026' is no day or time" in _refused(*lot, "--at", "6.11.2026")
    assert "by '' is no code" in _refused("record", "lot", "--lot", "P-2", "--description", "x")
    person = ("record", "person", "--lot", "P-1", *AT, "--code", "K-01")
    told = _refused(*person, "--keep-until", "soon")
    assert "option --keep-until: keep_until 'soon' is no day" in told
    erase = ("ledger", "erase", "--by", "D07", "--why", "x")
    assert "option --due: due 'soon' is no day" in _refused(*erase, "--due", "soon")
    assert "no such ledger" in _refused(*custody, "--ledger", "elsewhere.ledger")


@pytest.mark.usefixtures("desk")
def test_a_record_without_a_time_gets_the_time_of_the_place() -> None:
    _done("record", "custody", "--lot", "P-1", "--by", "D07", *RECORDS["custody"])
    at = open_ledger("lotscreen.ledger").entries("P-1")[-1].at
    assert len(at) == len("2026-11-06T09:00+01:00")


def test_a_workbook_with_kinds_mixed_dittos_and_gaps(desk: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    rows = [
        ["Desk 2, week 45"], [],
        ["Kind", "Lot", "When", "Who", "From", "To", "Why", "Instrument", "Stated", "Read", "Unit",
         "Weather"],
        ["custody", "P-1", "2026-11-06T09:10", "D07", "K-01", "D07", "audit", "", "", "", "", ""],
        [],
        ["check", '"', "2026-11-06T09:30", '"', "", "", "", "B-2", 20, 19.96, "g", "rain"],
        ["check", '"', "2026-11-06T13:30", "do.", "", "", "", "do.", 20, 20, "do.", "sun"],
    ]  # fmt: skip
    for row in rows:
        sheet.append(row)
    book.save(desk / "week.xlsx")
    result = _run("record", "custody", "--sheet", "week.xlsx")
    assert result.exit_code == ExitCode.DONE, result.output
    assert "3 entries up to number 4" in result.stdout
    assert "were not taken: Weather" in result.stderr
    entries = open_ledger("lotscreen.ledger").entries("P-1")[1:]
    assert [(e.kind, e.at[-5:], e.by) for e in entries] == [
        ("custody", "09:10", "D07"), ("check", "09:30", "D07"), ("check", "13:30", "D07"),
    ]  # fmt: skip
    assert entries[1].said() == {"instrument": "B-2", "stated": 20.0, "read": 19.96, "unit": "g"}


def test_one_wrong_row_and_none_is_written_but_all_are_told(desk: Path) -> None:
    text = "Los;Wann;Von wem;von;an;Grund\nP-1;2026-11-06;D07;K-01;D07;audit\n"
    text += "P-1;Freitag;D07;K-01;D07;audit\nP-1;2026-11-06;D07;K-01;;audit\n"
    (desk / "week.csv").write_text(text, encoding="utf-8")
    told = _refused("record", "custody", "--sheet", "week.csv")
    assert "week.csv, sheet week, row 3: at 'Freitag' is no day or time" in told
    assert "week.csv, sheet week, row 4: to is missing" in told
    assert open_ledger("lotscreen.ledger").entries("P-1")[-1].number == 1
    (desk / "other.csv").write_text("a,b\n1,2\n", encoding="utf-8")
    assert "no row has two headers that are known" in _refused(
        "record", "custody", "--sheet", "other.csv"
    )


def test_personal_data_are_apart_and_erased_on_their_day(desk: Path) -> None:
    said = ("--lot", "P-1", *AT, "--code", "K-01", "--keep-until", "2032-11-06")
    _done("record", "person", *said, "--name", "Ozma", "--contact", "bell 7")
    assert set(_last()) == {"code", "keep_until", "digest"}
    _done("ledger", "export", "copy.jsonl")
    assert "Ozma" not in (desk / "copy.jsonl").read_text(encoding="ascii")
    _done("ledger", "export", "with.jsonl", "--with-persons")
    assert "Ozma" in (desk / "with.jsonl").read_text(encoding="ascii")
    erase = ("ledger", "erase", "--by", "D07", "--why", "day past", "--at", "2032-11-07")
    assert "nobody's data" in _refused(*erase, "--due", "2032-11-06")
    assert "1 entries erased" in _done(*erase, "--due", "2032-11-07")
    assert "All that the ledger holds is as it was written down" in _done("verify")
    assert b"Ozma" not in (desk / "lotscreen.ledger").read_bytes()
    assert _run("ledger", "erase", "--by", "D07", "--why", "x").exit_code == 2


@pytest.mark.usefixtures("desk")
def test_second_tests_come_out_as_a_sheet_that_is_read_again() -> None:
    assert "no second test" in _refused("ledger", "tests", "P-1", "tests.csv")
    _done("record", "test", "--lot", "P-1", *AT, *RECORDS["test"])
    _done("record", "correction", "--lot", "P-1", *AT, "--entry", "2", "--field", "value",
          "--new", "46,1", "--why", "misread")  # fmt: skip
    assert "1 second tests written" in _done("ledger", "tests", "P-1", "tests.csv")
    (one,) = read_tests(Path("tests.csv")).results
    assert (one.coin, one.test, one.value, one.who) == ("7", "conductivity", 46.1, "D07")


@pytest.mark.usefixtures("desk")
def test_the_ledger_is_shown_copied_and_put_back() -> None:
    for kind, words in RECORDS.items():
        _done("record", kind, "--lot", "P-1", *AT, *words)
    assert _done("ledger", "show") == "P-1: 8 entries"
    assert "2 2026-11-06T09:00 D07 custody:" in _done("ledger", "show", "P-1")
    assert "8 entries written" in _done("ledger", "export", "copy.jsonl")
    lines = Path("copy.jsonl").read_text(encoding="ascii").splitlines()
    assert [json.loads(line)["entry"]["number"] for line in lines[1:]] == list(range(1, 9))
    other = ("--ledger", "other.ledger")
    assert "8 entries restored" in _done("ledger", "restore", "copy.jsonl", *other)
    _done("ledger", "export", "again.jsonl", *other)
    assert Path("again.jsonl").read_bytes() == Path("copy.jsonl").read_bytes()


@pytest.mark.usefixtures("desk")
@pytest.mark.parametrize("asked", [("export",), ("tests", "P-1")], ids=["export", "tests"])
def test_a_copy_of_the_ledger_overwrites_nothing(asked: tuple[str, ...]) -> None:
    _done("record", "test", "--lot", "P-1", *AT, *RECORDS["test"])
    _done("ledger", *asked, "copy")
    written = Path("copy").read_bytes()
    _done("ledger", *asked, "copy")
    Path("copy").write_bytes(b"notes of my own")
    assert "copy is there already" in _refused("ledger", *asked, "copy", code=ExitCode.OUTPUT)
    assert Path("copy").read_bytes() == b"notes of my own"
    Path("copy").unlink()
    _done("ledger", *asked, "copy")
    assert Path("copy").read_bytes() == written


def test_several_desks_write_to_one_server(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with chdir(tmp_path), server() as one:
        monkeypatch.setenv("LOTSCREEN_LEDGER", one.address)
        _done("record", "lot", "--lot", "P-1", *AT, "--description", "halves")
        _done("record", "custody", "--lot", "P-1", *AT, *RECORDS["custody"])
        assert "2 entries hold" in _done("verify")
        _done("ledger", "export", "desks.jsonl")
        monkeypatch.delenv("LOTSCREEN_LEDGER")
        _done("record", "lot", "--lot", "P-1", *AT, "--description", "halves")
        _done("record", "custody", "--lot", "P-1", *AT, *RECORDS["custody"])
        _done("ledger", "export", "desk.jsonl")
    files = (tmp_path / "desks.jsonl", tmp_path / "desk.jsonl")
    assert files[0].read_bytes() == files[1].read_bytes()


@pytest.mark.usefixtures("desk")
def test_what_is_not_there_is_told() -> None:
    told = _refused("ledger", "show", "P-9")
    assert "P-9: is not in the ledger" in told
    assert "P-1" in told
    told = _refused("ledger", "restore", "gone.jsonl")
    assert "gone.jsonl" in told
    assert "No such file" in told


def test_a_tool_that_does_not_end_is_stopped_and_told(
    desk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    slow = desk / "ssh-keygen"
    slow.write_text("#!/bin/sh\nexec sleep 30\n")
    slow.chmod(0o755)
    monkeypatch.setenv("PATH", str(desk), prepend=":")
    monkeypatch.setattr(signature, "_SECONDS", 0.2)
    with pytest.raises(OutputError, match="did not end within"):
        signature.sign(desk / "paper.pdf", "key")
