"""``lotscreen ledger``: show what is written down, copy it out, restore it, erase data due."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lotscreen.cli.common import emit, guarded
from lotscreen.cli.ledger_options import (
    AtOption,
    ByOption,
    LedgerOption,
    moment,
    opened,
    refuse_unopened,
)
from lotscreen.words import say

if TYPE_CHECKING:
    from lotscreen.ledger.chain import Entry

ledger_app = typer.Typer(no_args_is_help=True, rich_markup_mode=None)
File = Annotated[Path, typer.Argument(metavar="FILE", help=say("ledger.ledger.file"))]
_LONG = ("reading", "finding")


@ledger_app.command("show", help=say("ledger.ledger.show"))
def show_command(
    lot: Annotated[str, typer.Argument(metavar="[LOT]")] = "",
    everything: Annotated[bool, typer.Option("--all", help=say("ledger.ledger.all"))] = False,
    ledger: LedgerOption = "",
) -> None:
    """One line an entry; the help text is in the table of words."""
    with guarded():
        book = opened(ledger)
        if not lot:
            told = [
                say("ledger.ledger.lot_line", lot=name, n=book.end(name)[0]) for name in book.lots()
            ]
        else:
            refuse_unopened(book, lot)
            entries = book.entries(lot)
            shown = [e for e in entries if everything or e.kind not in _LONG]
            told = [_line(entry) for entry in shown]
            if len(shown) < len(entries):
                told.append(say("ledger.ledger.hidden", n=len(entries) - len(shown)))
        emit("".join(f"{line}\n" for line in told))


def _line(entry: Entry) -> str:
    from lotscreen.report.printable import shortened
    from lotscreen.report.screen_lines import WIDTH, clean

    said = entry.said()
    told = ", ".join(
        f"{name.replace('_', ' ')} {value}" for name, value in said.items()
        if not isinstance(value, dict | list)
    )  # fmt: skip
    facts = {"number": entry.number, "at": entry.at, "by": entry.by, "kind": entry.kind}
    return shortened(clean(say("ledger.ledger.line", told=told, **facts)), WIDTH)


@ledger_app.command("export", help=say("ledger.ledger.export"))
def export_command(
    file: File,
    with_persons: Annotated[
        bool, typer.Option("--with-persons", help=say("ledger.ledger.with_persons"))
    ] = False,
    ledger: LedgerOption = "",
) -> None:
    """Lines of JSON; the help text is in the table of words."""
    with guarded():
        from lotscreen.ledger.jsonl import ledger_lines
        from lotscreen.report.folder import write_file

        lines = list(ledger_lines(opened(ledger), with_persons=with_persons))
        write_file(file, "".join(lines).encode("ascii"))
        entries = sum(line.startswith('{"entry"') for line in lines)
        emit(say("ledger.ledger.exported", n=entries, file=file.name) + "\n")


@ledger_app.command("tests", help=say("ledger.ledger.tests"))
def sheet_of_tests(
    lot: Annotated[str, typer.Argument(metavar="LOT")], file: File, ledger: LedgerOption = ""
) -> None:
    """The second tests of a lot as a sheet; the help text is in the table of words."""
    with guarded():
        from lotscreen.ledger.history import history_of
        from lotscreen.ledger.test_rows import tests_text
        from lotscreen.records import InputError
        from lotscreen.report.folder import write_file

        tests = history_of(lot, opened(ledger).entries(lot)).as_corrected("test")
        if not tests:
            raise InputError(say("ledger.ledger.no_tests", lot=lot))
        write_file(file, tests_text(tests))
        emit(say("ledger.ledger.tests_written", n=len(tests), file=file.name) + "\n")


@ledger_app.command("restore", help=say("ledger.ledger.restore"))
def restore_command(file: File, ledger: LedgerOption = "") -> None:
    """What the ledger lacks; the help text is in the table of words."""
    with guarded():
        from lotscreen.ledger.jsonl import copy_of, restore
        from lotscreen.records import InputError

        try:
            text = file.read_text(encoding="ascii")
        except OSError as error:
            why = error.strerror or str(error)
            raise InputError(say("intake.error.not_opened", file=file.name, why=why)) from error
        except UnicodeDecodeError as error:
            raise InputError(say("ledger.bad_line", file=file.name, line=1)) from error
        copy = copy_of(text, file.name)
        n = restore(opened(ledger, create=True), copy)
        emit(say("ledger.ledger.restored", n=n, file=file.name) + "\n")


@ledger_app.command("erase", help=say("ledger.ledger.erase"))
def erase_command(
    by: ByOption,
    why: Annotated[
        str, typer.Option("--why", metavar="TEXT", help=say("ledger.record.option.why"))
    ],
    code: Annotated[
        str, typer.Option("--code", metavar="CODE", help=say("ledger.record.option.code"))
    ] = "",
    due: Annotated[str, typer.Option("--due", metavar="DAY", help=say("ledger.ledger.due"))] = "",
    at: AtOption = "",
    ledger: LedgerOption = "",
) -> None:  # fmt: skip
    """Personal data that are due; the help text is in the table of words."""
    if bool(code) == bool(due):
        raise typer.BadParameter(say("ledger.ledger.erase_what"))
    with guarded():
        from lotscreen.ledger.kinds import checked_code, checked_moment
        from lotscreen.ledger.persons import erase_persons

        day = checked_moment(due, name="due") if due else ""
        n = erase_persons(
            opened(ledger),
            lambda said: said["code"] == code if code else said["keep_until"] < day,
            at=checked_moment(moment(at)), by=checked_code(by), why=why,
        )  # fmt: skip
        emit(say("ledger.ledger.erased", n=n) + "\n")
