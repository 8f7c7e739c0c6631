"""``lotscreen verify``: does the ledger, and an issued report, say what they said?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lotscreen.cli.common import emit, guarded
from lotscreen.cli.exit_codes import ExitCode
from lotscreen.cli.ledger_options import LedgerOption, opened
from lotscreen.words import say

if TYPE_CHECKING:
    from lotscreen.ledger.check import Checked
    from lotscreen.ledger.store import Ledger


def verify_command(
    head: Annotated[
        str, typer.Option("--head", metavar="DIGEST", help=say("ledger.verify.head"))
    ] = "",
    papers: Annotated[
        Path | None, typer.Option("--papers", metavar="DIR", help=say("ledger.verify.papers"))
    ] = None,
    signers: Annotated[
        Path | None, typer.Option("--signers", metavar="FILE", help=say("ledger.verify.signers"))
    ] = None,
    ledger: LedgerOption = "",
) -> None:
    """Check the ledger and papers; the help text is in the table of words."""
    with guarded():
        from lotscreen.ledger.check import check_ledger
        from lotscreen.report.screen_lines import wrap

        book = opened(ledger)
        checked = check_ledger(book, head)
        told, holds = _told(checked), checked.holds
        if papers is not None and holds:
            more, same = _papers(book, papers, signers)
            told, holds = [*told, *more], same
        lines = [line for text in told for line in wrap(text)]
        emit("\n".join(lines) + "\n")
        if not holds:
            raise typer.Exit(ExitCode.VERIFY_DIFFERS)


def _papers(book: Ledger, folder: Path, signers: Path | None) -> tuple[list[str], bool]:
    """What comparing an issued version says, and whether all of it is as issued."""
    from lotscreen.issuing.again import compare
    from lotscreen.issuing.issue import DIGESTS
    from lotscreen.issuing.signature import signature_of

    found = compare(book, folder)
    facts = {"lot": found.lot, "version": found.version, "n": found.files}
    told = ["", say("issuing.compare.title", **facts)]
    for what in ("altered", "missing", "unknown", "differ_again"):
        names = getattr(found, what)
        if names:
            told.append(say(f"issuing.compare.{what}", names=", ".join(names)))
    if found.no_archive:
        told.append(say("issuing.compare.no_archive", why=found.no_archive))
    if found.differ_again and found.packages:
        told.append(say("issuing.compare.packages", names=", ".join(found.packages)))
    if found.holds:
        told.append(say("issuing.compare.holds"))
    signatures = [signature_of(path, signers) for path in sorted(folder.glob(f"*-{DIGESTS}"))]
    for one in signatures:
        if one is not None:
            key = (
                "issuing.compare.signature_holds"
                if one.holds
                else "issuing.compare.signature_fails"
            )
            told.append(say(key, file=one.file, who=one.told, why=one.told))
    return told, found.holds and all(one is None or one.holds for one in signatures)


def _told(checked: Checked) -> list[str]:
    broken = {one.lot for one in checked.breaks}
    told = [
        say("ledger.verify.lot", lot=lot, n=checked.entries[lot], head=head)
        for lot, head in checked.heads.items()
        if lot not in broken
    ]
    told += [] if checked.heads or checked.breaks else [say("ledger.verify.none")]
    if checked.breaks:
        told.append(say("ledger.verify.differs"))
        told += [
            "- " + say(f"ledger.breaks.{one.what}", lot=one.lot, number=one.number)
            for one in checked.breaks
        ]
    elif checked.holds:
        told.append(say("ledger.verify.holds"))
    return [*told, _head(checked)]


def _head(checked: Checked) -> str:
    found = checked.found
    if not checked.asked:
        return say("ledger.verify.no_head")
    if found is None:
        return say("ledger.verify.head_gone", head=checked.asked)
    if not found.behind:
        return say("ledger.verify.head_last", lot=found.lot)
    facts = {"lot": found.lot, "number": found.number, "behind": found.behind}
    return say("ledger.verify.head_found", **facts)
