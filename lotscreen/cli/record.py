"""``lotscreen record``: what happened to a lot goes into the ledger, from options or a sheet."""

from __future__ import annotations

import sys
from collections.abc import Mapping
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


def _option(name: str, flag: str = "") -> typer.models.OptionInfo:
    words = say(f"ledger.record.option.{name}")
    option: typer.models.OptionInfo = typer.Option(
        flag or f"--{name.replace('_', '-')}", metavar="TEXT", help=words
    )
    return option


Coin = Annotated[str, _option("coin")]
Instrument = Annotated[str, _option("instrument")]
Place = Annotated[str, _option("place")]
Seal = Annotated[str, _option("seal")]
Temperature = Annotated[str, _option("temperature")]
Unit = Annotated[str, _option("unit")]
Why = Annotated[str, _option("why")]


@record_app.command("lot", help=say("ledger.record.lot"))
def record_lot(
    lot: LotOption = "", by: ByOption = "", at: AtOption = "", ledger: LedgerOption = "",
    sheet: SheetOption = None,
    description: Annotated[str, _option("description")] = "",
    consignor: Annotated[str, _option("consignor")] = "",
    seal: Seal = "",
    count_claimed: Annotated[str, _option("count_claimed")] = "",
    count_counted: Annotated[str, _option("count_counted")] = "",
    condition: Annotated[str, _option("condition")] = "",
    place: Place = "",
) -> None:  # fmt: skip
    """Open a lot; the help text is in the table of words."""
    _record("lot", locals())


@record_app.command("custody", help=say("ledger.record.custody"))
def record_custody(
    lot: LotOption = "", by: ByOption = "", at: AtOption = "", ledger: LedgerOption = "",
    sheet: SheetOption = None,
    from_: Annotated[str, _option("from")] = "",
    to: Annotated[str, _option("to")] = "",
    why: Why = "", seal: Seal = "", place: Place = "",
) -> None:  # fmt: skip
    """A hand-over; the help text is in the table of words."""
    _record("custody", locals())


@record_app.command("instrument", help=say("ledger.record.instrument"))
def record_instrument(
    lot: LotOption = "", by: ByOption = "", at: AtOption = "", ledger: LedgerOption = "",
    sheet: SheetOption = None, instrument: Instrument = "",
    what: Annotated[str, _option("what")] = "",
    step: Annotated[str, _option("step")] = "",
    unit: Unit = "",
    calibrated: Annotated[str, _option("calibrated")] = "",
    certificate: Annotated[str, _option("certificate")] = "",
) -> None:  # fmt: skip
    """An instrument in use; the help text is in the table of words."""
    _record("instrument", locals())


@record_app.command("check", help=say("ledger.record.check"))
def record_check(
    lot: LotOption = "", by: ByOption = "", at: AtOption = "", ledger: LedgerOption = "",
    sheet: SheetOption = None, instrument: Instrument = "",
    stated: Annotated[str, _option("stated")] = "",
    read: Annotated[str, _option("read")] = "",
    unit: Unit = "g", temperature: Temperature = "",
) -> None:  # fmt: skip
    """A reading of a check weight; the help text is in the table of words."""
    _record("check", locals())


@record_app.command("test", help=say("ledger.record.test"))
def record_test(
    lot: LotOption = "", by: ByOption = "", at: AtOption = "", ledger: LedgerOption = "",
    sheet: SheetOption = None, coin: Coin = "",
    test: Annotated[str, _option("test")] = "",
    value: Annotated[str, _option("value")] = "",
    unit: Unit = "",
    instrument: Instrument = "",
    reference: Annotated[str, _option("reference")] = "",
    temperature: Temperature = "",
    step: Annotated[str, _option("step")] = "",
    offset: Annotated[str, _option("offset")] = "",
    repeat: Annotated[str, _option("repeat")] = "",
    thread: Annotated[str, _option("thread")] = "",
    note: Annotated[str, _option("note")] = "",
) -> None:  # fmt: skip
    """The result of a second test; the help text is in the table of words."""
    _record("test", locals())


@record_app.command("decision", help=say("ledger.record.decision"))
def record_decision(
    lot: LotOption = "", by: ByOption = "", at: AtOption = "", ledger: LedgerOption = "",
    sheet: SheetOption = None, coin: Coin = "",
    disposition: Annotated[str, _option("disposition")] = "",
    reasons: Annotated[str, _option("reasons")] = "",
    dissent: Annotated[str, _option("dissent")] = "",
    second: Annotated[str, _option("second")] = "",
) -> None:  # fmt: skip
    """A decision with its reasons; the help text is in the table of words."""
    _record("decision", locals())


@record_app.command("offer", help=say("ledger.record.offer"))
def record_offer(
    lot: LotOption = "", by: ByOption = "", at: AtOption = "", ledger: LedgerOption = "",
    sheet: SheetOption = None,
    bid: Annotated[str, _option("bid")] = "",
    currency: Annotated[str, _option("currency")] = "",
    spot: Annotated[str, _option("spot")] = "",
    spot_at: Annotated[str, _option("spot_at")] = "",
    until: Annotated[str, _option("until")] = "",
    note: Annotated[str, _option("note")] = "",
) -> None:  # fmt: skip
    """An offer that was made; the help text is in the table of words."""
    _record("offer", locals())


@record_app.command("correction", help=say("ledger.record.correction"))
def record_correction(
    lot: LotOption = "", by: ByOption = "", at: AtOption = "", ledger: LedgerOption = "",
    sheet: SheetOption = None, coin: Coin = "",
    quantity: Annotated[str, _option("quantity")] = "",
    entry: Annotated[str, _option("entry")] = "",
    field: Annotated[str, _option("field")] = "",
    old: Annotated[str, _option("old")] = "",
    new: Annotated[str, _option("new")] = "",
    why: Why = "",
) -> None:  # fmt: skip
    """A new value in place of an old one; the help text is in the table of words."""
    _record("correction", locals())


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
        _refuse_unopened(book, lot)
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
        _refuse_unopened(book, lot)
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


def _refuse_unopened(book: Ledger, lot: str) -> None:
    from lotscreen.records import InputError

    lots = book.lots()
    if lot not in lots:
        known = ", ".join(lots) or say("ledger.cli.no_lots")
        raise InputError(say("ledger.cli.not_opened", lot=lot, lots=known))


def _told(lot: str, entries: Sequence[Entry]) -> str:
    from lotscreen.report.screen_lines import wrap

    last = entries[-1]
    facts = {"lot": lot, "number": last.number, "head": last.digest}
    if len(entries) == 1:
        told = say("ledger.cli.recorded", kind=last.kind, **facts)
    else:
        told = say("ledger.cli.recorded_many", n=len(entries), **facts)
    return "\n".join(wrap(told)) + "\n"
