"""What may be written down, kind by kind: the fields, which of them must be there, and how
each is written. Options of the command, columns of a sheet and the ledger share them."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from lotscreen.ledger.chain import Entry
from lotscreen.ledger.mended import CORRECTION, bodies_as_corrected
from lotscreen.ledger.test_rows import checked_test
from lotscreen.quantities import parse_number
from lotscreen.records import InputError
from lotscreen.words import say

DISPOSITIONS = (
    "pay", "hold", "return", "refer", "offer as described", "offer re-described", "withdraw",
)  # fmt: skip
CORRECTED = ("weight", "diameter", "thickness")
_MOMENT = re.compile(
    r"\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])"
    r"([T ]([01]\d|2[0-3]):[0-5]\d(:[0-5]\d)?(Z|[+-]\d\d:?\d\d)?)?"
)
_CODE = re.compile(r"[^\W_][\w.-]{0,23}")
_LONGEST_LOT = 80

Written = str | float | int


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a kind; ``form`` is the name of a form of ``FORMS``."""

    name: str
    form: str = "text"
    needed: bool = False


def _fields(needed: str, *others: str) -> tuple[Field, ...]:
    """Fields written as 'name' or 'name:form'; those of ``needed`` (split at blanks) first."""
    parted = [(*text.split(":"), "text")[:2] for text in (*needed.split(), *others)]
    return tuple(
        Field(name, form, place < len(needed.split())) for place, (name, form) in enumerate(parted)
    )


KINDS: Mapping[str, tuple[Field, ...]] = {
    "lot": _fields(
        "description", "consignor:code", "seal", "count_claimed:count", "count_counted:count",
        "condition", "place",
    ),
    "custody": _fields("from:code to:code why", "seal", "place"),
    "instrument": _fields(
        "instrument:code what", "step:number", "unit", "calibrated:day", "certificate",
    ),
    "check": _fields("instrument:code stated:number read:number unit", "temperature:number"),
    "test": _fields(
        "coin test value", "unit", "instrument:code", "reference:number", "temperature:number",
        "step:number", "offset:number", "repeat:number", "thread:number", "note",
    ),
    "decision": _fields("disposition:disposition reasons", "coin", "dissent", "second:code"),
    "offer": _fields("bid:number currency:code spot spot_at:day until:day", "note"),
    "correction": _fields(
        "new why", "coin", "quantity:quantity", "entry:count", "field", "old",
    ),
}  # fmt: skip
"""The kinds that people write down. A decision without a coin is about the lot; a correction
is of a reading (coin and quantity) or of an earlier entry (number and field)."""


def body_of(kind: str, given: Mapping[str, object], where: str) -> dict[str, Written]:
    """The body of an entry of ``kind`` from what was given, empty fields left out.

    InputError names ``where`` (option or cell), the value found and the mend.
    """
    known = {field.name: field for field in KINDS[kind]}
    body: dict[str, Written] = {}
    for name, value in given.items():
        text = str(value).strip()
        if text and name in known:
            body[name] = FORMS[known[name].form](text, name, where)
    missing = [field.name for field in KINDS[kind] if field.needed and field.name not in body]
    if missing:
        raise InputError(say("ledger.missing", where=where, field=missing[0], kind=kind))
    if kind == "correction":
        return _checked_correction(body, where)
    return checked_test(body, where) if kind == "test" else body


def _checked_correction(body: dict[str, Written], where: str) -> dict[str, Written]:
    of_what = body.keys() & {"coin", "quantity", "entry", "field"}
    if of_what == {"coin", "quantity"}:
        _number(str(body["new"]), "new", where)  # kept as written: its decimals say the step
    elif of_what != {"entry", "field"}:
        raise InputError(say("ledger.correction_of_what", where=where))
    return body


def checked_mend(
    body: Mapping[str, Written], entries: Sequence[Entry], where: str
) -> dict[str, Written]:
    """A correction of an earlier entry, its old value filled in, its new one in the form of
    the field; InputError where there is no such entry or field. Others are left as they are."""
    if "entry" not in body:
        return dict(body)
    number, name = int(body["entry"]), str(body["field"]).replace("-", "_")
    known = {f.name: f for e in entries[number - 1 : number] for f in KINDS.get(e.kind, ())}
    if not known:
        told = {"field": "entry", "value": number, "known": say("ledger.entries_of_kind")}
        raise InputError(say("ledger.not_among", where=where, **told))
    if name not in known:
        told = {"field": "field", "value": repr(name), "known": ", ".join(known)}
        raise InputError(say("ledger.not_among", where=where, **told))
    kind = entries[number - 1].kind
    said = bodies_as_corrected(entries, kind)[number]
    new = FORMS[known[name].form](str(body["new"]), name, where)
    if kind == "test":
        new = checked_test({**said, name: new}, where)[name]
    if kind == CORRECTION:
        new = _checked_again({**said, name: new}, entries[: number - 1], where)[name]
    held = said.get(name, "")
    if "old" in body and not _same(str(body["old"]), str(held)):
        told = {"field": name, "value": repr(body["old"]), "held": held or say("ledger.no_value")}
        raise InputError(say("ledger.other_old", where=where, number=number, **told))
    return {"old": held, **body, "field": name, "new": new}


def _checked_again(
    body: dict[str, Written], entries: Sequence[Entry], where: str
) -> dict[str, Written]:
    """A correction that was itself corrected, in the forms of a new one."""
    checked = _checked_correction(body, where)
    old = checked.get("old", "")
    # its old value is what was in force when it was written down, and may have changed since
    before = {name: value for name, value in checked.items() if name != "old"}
    return {**checked_mend(before, entries, where), "old": old}


def _same(one: str, other: str) -> bool:
    """Whether two values are the same, as numbers where both are numbers."""
    numbers = written_number(one), written_number(other)
    return one.strip() == other.strip() or (None not in numbers and numbers[0] == numbers[1])


def written_number(text: str) -> float | None:
    """The number without a unit that a text is, either decimal sign; None where it is none."""
    number = parse_number(text, "," if "," in text and "." not in text else ".")
    return None if number is None or number.unit_word else number.value


def checked_lot(lot: str) -> str:
    """A lot's name; InputError where it is empty, long, or holds control signs."""
    lot = lot.strip()
    if not lot or len(lot) > _LONGEST_LOT or not lot.isprintable():
        raise InputError(say("ledger.bad_lot", lot=repr(lot), most=_LONGEST_LOT))
    return lot


def checked_code(text: str, name: str = "by", where: str = "") -> str:
    """A person's code; InputError where it is empty or looks like a sentence."""
    return _code(text.strip(), name, where or say("ledger.option", name=name))


def checked_moment(text: str, where: str = "", name: str = "at") -> str:
    """A day or a time, ISO 8601; InputError otherwise."""
    return _moment(text.strip(), name, where or say("ledger.option", name=name.replace("_", "-")))


def _text(text: str, _name: str, _where: str) -> str:
    return text


def _number(text: str, name: str, where: str) -> float:
    number = written_number(text)
    if number is None:
        raise InputError(say("ledger.bad_number", where=where, field=name, value=repr(text)))
    return number


def _count(text: str, name: str, where: str) -> int:
    if not text.isdecimal():
        raise InputError(say("ledger.bad_count", where=where, field=name, value=repr(text)))
    return int(text)


def _code(text: str, name: str, where: str) -> str:
    if not _CODE.fullmatch(text):
        raise InputError(say("ledger.bad_code", where=where, field=name, value=repr(text)))
    return text


def _moment(text: str, name: str, where: str) -> str:
    if not _MOMENT.fullmatch(text):
        raise InputError(say("ledger.bad_moment", where=where, field=name, value=repr(text)))
    return text.replace(" ", "T")


def _one_of(words: tuple[str, ...]) -> Callable[[str, str, str], str]:
    def form(text: str, name: str, where: str) -> str:
        if text.lower() not in words:
            told = {"field": name, "value": repr(text), "known": ", ".join(words)}
            raise InputError(say("ledger.not_among", where=where, **told))
        return text.lower()

    return form


FORMS: Mapping[str, Callable[[str, str, str], Any]] = {
    "text": _text,
    "number": _number,
    "count": _count,
    "code": _code,
    "day": _moment,
    "disposition": _one_of(DISPOSITIONS),
    "quantity": _one_of(CORRECTED),
}
