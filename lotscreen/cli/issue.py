"""``lotscreen issue``: a numbered version of a lot's report, frozen with all it rests on."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lotscreen.cli.check_option import parsed_checks
from lotscreen.cli.common import emit, guarded, progress
from lotscreen.cli.exit_codes import ExitCode
from lotscreen.cli.ledger_options import AtOption, LedgerOption, moment, opened
from lotscreen.cli.sheet_options import Checks, Mapping, SettingsFile, Standards, Types, Unit
from lotscreen.words import say

if TYPE_CHECKING:
    from lotscreen.issuing.inputs import Request
    from lotscreen.issuing.issue import Issued

BUILT_IN = Path("issued")


def issue_command(
    lot: Annotated[str, typer.Option("--lot", metavar="NAME", help=say("issuing.cli.lot"))],
    by: Annotated[str, typer.Option("--by", metavar="CODE", help=say("issuing.cli.by"))],
    sheets: Annotated[
        list[Path] | None, typer.Argument(metavar="[SHEET...]", help=say("issuing.cli.sheets"))
    ] = None,
    whole: Annotated[bool, typer.Option("--whole", help=say("issuing.cli.whole"))] = False,
    at: AtOption = "",
    ledger: LedgerOption = "",
    out: Annotated[
        Path, typer.Option("--out", metavar="DIR", help=say("issuing.cli.out"))
    ] = BUILT_IN,
    types: Types = None,
    standards: Standards = None,
    settings: SettingsFile = None,
    check: Checks = None,
    mapping: Mapping = None,
    unit: Unit = None,
    seed: Annotated[
        int, typer.Option("--seed", metavar="N", min=0, help=say("cli.screen.seed"))
    ] = 0,
    sign: Annotated[
        str, typer.Option("--sign", metavar="KEY", help=say("issuing.cli.sign"))
    ] = "",
) -> None:  # fmt: skip
    """Issue a version; the help text is in the table of words."""
    checks = parsed_checks(check or [])
    with guarded():
        # imported here, so that --help and a mistyped option answer at once
        from lotscreen.intake import load_mapping
        from lotscreen.issuing.inputs import Request
        from lotscreen.issuing.issue import earlier_request, issue
        from lotscreen.ledger.kinds import checked_code, checked_lot, checked_moment
        from lotscreen.settings import load_settings
        from lotscreen.standards import load_standards

        name, book = checked_lot(lot), opened(ledger)
        request: Request
        if sheets:
            request = Request(
                name, _contents(sheets), whole, load_settings(settings, {}),
                load_standards(standards or []), tuple(types or ()),
                None if mapping is None else load_mapping(mapping), unit, checks, seed,
            )  # fmt: skip
        else:
            request = earlier_request(book, name, out)
        with progress() as tell:
            issued = issue(book, request, out, at=checked_moment(moment(at)),
                           by=checked_code(by), progress=tell)  # fmt: skip
        emit(_told(issued))
        if sign and not issued.again:
            emit(_signed(issued, sign))
        intake = None if issued.screening is None else issued.screening.intake
        if intake is not None and (len(intake.left_out) or intake.doubts):
            raise typer.Exit(ExitCode.DONE_WITH_DOUBTS)


def _contents(sheets: list[Path]) -> tuple[tuple[str, bytes], ...]:
    """The files as they are; InputError where one cannot be read."""
    from lotscreen.intake.guards import content_of

    return tuple((path.name, content_of(path)) for path in sheets)


def _signed(issued: Issued, key: str) -> str:
    from lotscreen.issuing.issue import DIGESTS
    from lotscreen.issuing.signature import sign

    name = next(name for name in issued.files if name.endswith(DIGESTS))
    return say("issuing.cli.signed", file=sign(issued.folder / name, key).name) + "\n"


def _told(issued: Issued) -> str:
    from lotscreen.report.screen_lines import wrap

    facts = {"lot": issued.lot, "version": issued.version, "folder": issued.folder}
    if issued.again:
        return "\n".join(wrap(say("issuing.cli.unchanged", **facts))) + "\n"
    told = [say("issuing.cli.issued", **facts)]
    if issued.version > 1:
        told.append(say("issuing.cli.replaces", replaces=issued.version - 1))
    told.append(say("issuing.cli.found", counts=_counts(issued)))
    told.append("  " + " ".join(sorted(issued.files)))
    told.append(say("issuing.cli.in_house"))
    told.append(say("issuing.cli.head", head=issued.head))
    return "\n".join(line for text in told for line in wrap(text)) + "\n"


def _counts(issued: Issued) -> str:
    from lotscreen.records import FindingKind, ItemKind

    screening = issued.screening
    if screening is None:
        return ""
    found = screening.findings.finding[screening.table.kind == ItemKind.COIN.value]
    numbers = ((kind.value, int((found == kind.value).sum())) for kind in reversed(FindingKind))
    return ", ".join(say("cuts.count", n=n, kind=kind) for kind, n in numbers if n)
