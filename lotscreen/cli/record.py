"""``lotscreen record``: what happened to a lot goes into the ledger, from options or a sheet."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Mapping
from inspect import Parameter, Signature
from keyword import iskeyword
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lotscreen.cli.common import emit, guarded
from lotscreen.cli.ledger_options import (
    AtOption,
    ByOption,
    LedgerOption,
    LotOption,
    moment,
    opened,
    refuse_unopened,
)
from lotscreen.words import say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from lotscreen.ledger.chain import Draft, Entry
    from lotscreen.ledger.store import Ledger

record_app = typer.Typer(no_args_is_help=True, rich_markup_mode=None)
SheetOption = Annotated[
    Path | None, typer.Option("--sheet", metavar="FILE", help=say("ledger.cli.sheet"))
]


_OPTIONS = {
    "lot": "description consignor seal count_claimed count_counted condition place",
    "custody": "from to why seal place",
    "instrument": "instrument what step unit calibrated certificate",
    "check": "instrument stated read unit temperature",
    "test": (
        "coin test value unit instrument reference temperature step offset repeat thread note"
    ),
    "decision": "coin disposition reasons dissent second",
    "offer": "bid currency spot spot_at until note",
    "correction": "coin quantity entry field old new why",
}
"""The fields of each kind that is written down in one way, in the order of its help."""
_BUILT_IN = {("check", "unit"): "g"}


def _option(name: str) -> typer.models.OptionInfo:
    option: typer.models.OptionInfo = typer.Option(
        f"--{name.replace('_', '-')}", metavar="TEXT", help=say(f"ledger.record.option.{name}")
    )
    return option


def _parameters(kind: str) -> Iterator[Parameter]:
    """What all kinds take, then the fields of ``kind``, as of a function's head."""
    common = {"lot": LotOption, "by": ByOption, "at": AtOption, "ledger": LedgerOption}
    for name, annotation in common.items():
        yield Parameter(name, Parameter.KEYWORD_ONLY, default="", annotation=annotation)
    yield Parameter("sheet", Parameter.KEYWORD_ONLY, default=None, annotation=SheetOption)
    for name in _OPTIONS[kind].split():
        yield Parameter(
            f"{name}_" if iskeyword(name) else name, Parameter.KEYWORD_ONLY,
            default=_BUILT_IN.get((kind, name), ""), annotation=Annotated[str, _option(name)],
        )  # fmt: skip


def _command(kind: str) -> Callable[..., None]:
    """The command of a kind: its options are those of :func:`_parameters`."""

    def command(**given: object) -> None:
        _record(kind, given)

    parameters = list(_parameters(kind))
    command.__annotations__ = {one.name: one.annotation for one in parameters}
    command.__signature__ = Signature(parameters)  # type: ignore[attr-defined]
    return command


for _kind in _OPTIONS:
    record_app.command(_kind, help=say(f"ledger.record.{_kind}"))(_command(_kind))


@record_app.command("person", help=say("ledger.record.person"))
def record_person(
    code: Annotated[str, _option("code")],
    keep_until: Annotated[str, _option("keep_until")],
    lot: LotOption, by: ByOption, at: AtOption = "", ledger: LedgerOption = "",
    name: Annotated[str, _option("name")] = "",
    address: Annotated[str, _option("address")] = "",
    contact: Annotated[str, _option("contact")] = "",
    identity: Annotated[str, _option("identity")] = "",
) -> None:  # fmt: skip
    """Who a code is; the help text is in the table of words."""
    with guarded():
        import secrets

        from lotscreen.ledger.kinds import checked_code, checked_moment
        from lotscreen.ledger.persons import add_person

        said = {"name": name, "address": address, "contact": contact, "identity": identity}
        data = {field: text for field, text in said.items() if text}
        book = opened(ledger)
        refuse_unopened(book, lot)
        entry = add_person(
            book, lot, code, data, keep_until, at=checked_moment(moment(at)), by=checked_code(by),
            salt=secrets.token_hex(16),
        )  # fmt: skip
        emit(_told(lot, [entry]))


def _record(kind: str, given: Mapping[str, object]) -> None:
    """Write down one record from the options, or those of a sheet."""
    said = {name.rstrip("_"): str(value) for name, value in given.items() if value}
    sheet = given["sheet"]
    said["at"] = moment(said.get("at", ""))
    with guarded():
        drafts = _of_sheet(Path(str(sheet)), kind, said) if sheet else _of_options(kind, said)
        book = opened(said.get("ledger", ""), create=kind == "lot")
        checked = {lot: _checked(book, lot, of_lot) for lot, of_lot in drafts.items()}
        for lot, of_lot in checked.items():
            emit(_told(lot, book.append(lot, of_lot)))


def _checked(book: Ledger, lot: str, drafts: Sequence[Draft]) -> list[Draft]:
    """What is written about a lot that is open, or opens it; corrections against what they
    correct."""
    from dataclasses import replace

    from lotscreen.ledger.kinds import checked_mend
    from lotscreen.records import InputError

    opens = any(draft.kind == "lot" for draft in drafts)
    if not opens:
        refuse_unopened(book, lot)
    entries = book.entries(lot)
    if opens and any(entry.kind == "lot" for entry in entries):
        raise InputError(say("ledger.cli.opened_already", lot=lot))
    return [
        replace(draft, body=checked_mend(draft.body, entries, say("ledger.options")))
        if draft.kind == "correction"
        else draft
        for draft in drafts
    ]


def _of_options(kind: str, said: Mapping[str, str]) -> dict[str, list[Draft]]:
    from lotscreen.ledger.chain import Draft
    from lotscreen.ledger.kinds import body_of, checked_code, checked_lot, checked_moment

    lot, by = checked_lot(said.get("lot", "")), checked_code(said.get("by", ""))
    body = body_of(kind, said, say("ledger.options"))
    return {lot: [Draft(kind, checked_moment(said["at"]), by, body)]}


def _of_sheet(sheet: Path, kind: str, said: Mapping[str, str]) -> dict[str, list[Draft]]:
    from lotscreen.ledger.sheet import records_of_sheet
    from lotscreen.report.screen_lines import wrap

    drafts: dict[str, list[Draft]] = {}
    found = records_of_sheet(sheet, kind, said)
    if found.left_alone:
        told = say("ledger.cli.left_alone", headers=", ".join(found.left_alone))
        print("\n".join(wrap(told)), file=sys.stderr)
    for record in found.records:
        drafts.setdefault(record.lot, []).append(record.draft)
    return drafts


def _told(lot: str, entries: Sequence[Entry]) -> str:
    from lotscreen.report.screen_lines import wrap

    last = entries[-1]
    facts = {"lot": lot, "number": last.number, "head": last.digest}
    if len(entries) == 1:
        told = say("ledger.cli.recorded", kind=last.kind, **facts)
    else:
        told = say("ledger.cli.recorded_many", n=len(entries), **facts)
    return "\n".join(wrap(told)) + "\n"
