"""What a user may say about a sheet before it is read."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from lotscreen.intake.grid import plain_words
from lotscreen.intake.headers import Sense, unit_factors
from lotscreen.intake.vocabulary import ROLES
from lotscreen.quantities import UNIT_WORDS, WEIGHT_UNITS
from lotscreen.records import InputError
from lotscreen.words import say

_MOST_REPEATS = 100
_ROWS = re.compile(r"(?:(?P<sheet>.+)!)?(?P<ranges>\d+(?:-\d+)?(?:,\d+(?:-\d+)?)*)")


@dataclass(frozen=True, slots=True)
class ReadOptions:
    """Answers given beforehand; none of them touches the sheet.

    ``mapping`` is a parsed ``--map`` file: a table ``[columns]`` of header = role or
    header = "role unit" (role '' carries the column through), and, all optional,
    ``header_row`` (0: no header, columns are called A, B, ...), ``decimal_sign``,
    ``weight_unit`` and ``same_coins`` (true: equal lot and number in several tables are one
    coin). ``default_type`` is the type of rows that name none. ``type_rows``
    are pairs (rows, type) such as ``("12-20", "us-half-1853")`` or
    ``("Sheet1!5,8-9", ...)`` that overrule the type of those sheet rows. ``lot`` keeps
    one lot only (and names the lot of a sheet without lots). ``weight_unit`` is the unit
    of weights written as "gr" or without a unit.
    """

    mapping: Mapping[str, Any] | None = None
    default_type: str = ""
    type_rows: tuple[tuple[str, str], ...] = ()
    lot: str | None = None
    weight_unit: str | None = None


@dataclass(frozen=True, slots=True)
class Answers:
    """``ReadOptions`` checked: senses by header in plain words, row sets parsed."""

    columns: Mapping[str, Sense | None] = field(default_factory=dict)
    header_row: int | None = None
    decimal_sign: str | None = None
    weight_unit: str | None = None
    default_type: str = ""
    type_rows: tuple[TypeRows, ...] = ()
    lot: str | None = None
    same_coins: bool = False


@dataclass(frozen=True, slots=True)
class TypeRows:
    """Rows (first, last, both included) of one sheet ('' any) whose type is overruled."""

    written: str
    sheet: str
    ranges: tuple[tuple[int, int], ...]
    type_text: str


def load_mapping(path: Path) -> Mapping[str, Any]:
    """The ``--map`` file at ``path``; InputError where it is no TOML."""
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise InputError(say("intake.error.map_file", file=path.name, why=error)) from error


def options_from_words(
    types: Sequence[str], map_file: Path | None = None, weight_unit: str | None = None
) -> ReadOptions:
    """``ReadOptions`` from a command's words: each of ``types`` is TYPE or ROWS=TYPE."""
    default, rows = "", []
    for word in types:
        before, sign, after = word.partition("=")
        if sign:
            rows.append((before.strip(), after.strip()))
        elif default:
            raise InputError(say("intake.error.two_types", first=default, second=word))
        else:
            default = word
    return ReadOptions(
        mapping=load_mapping(map_file) if map_file is not None else None,
        default_type=default,
        type_rows=tuple(rows),
        weight_unit=weight_unit,
    )


def checked(options: ReadOptions) -> Answers:
    """The options checked; InputError names what is wrong and what may stand there."""
    mapping = dict(options.mapping or {})
    columns = mapping.pop("columns", {})
    header_row = mapping.pop("header_row", None)
    decimal_sign = mapping.pop("decimal_sign", None)
    weight_unit = options.weight_unit or mapping.pop("weight_unit", None)
    mapping.pop("weight_unit", None)
    same_coins = mapping.pop("same_coins", False)
    if mapping:
        raise InputError(say("intake.error.map_key", name=next(iter(mapping))))
    if not isinstance(columns, Mapping):
        raise InputError(say("intake.error.map_key", name="columns"))
    if header_row is not None and (type(header_row) is not int or header_row < 0):
        raise InputError(say("intake.error.map_header_row", value=header_row))
    if decimal_sign not in (None, ".", ","):
        raise InputError(say("intake.error.map_decimal_sign", value=decimal_sign))
    if not isinstance(same_coins, bool):
        raise InputError(say("intake.error.map_same_coins", value=same_coins))
    return Answers(
        columns={plain_words(str(h)): _sense_of_map(str(h), v) for h, v in columns.items()},
        header_row=header_row,
        decimal_sign=decimal_sign,
        weight_unit=_weight_unit(weight_unit),
        default_type=options.default_type.strip(),
        type_rows=tuple(_type_rows(rows, text) for rows, text in options.type_rows),
        lot=options.lot,
        same_coins=same_coins,
    )


def _weight_unit(word: object) -> str | None:
    if word is None:
        return None
    unit = UNIT_WORDS.get(str(word).strip().casefold())
    if unit not in WEIGHT_UNITS:
        known = ", ".join(WEIGHT_UNITS)
        raise InputError(say("intake.error.weight_unit", value=word, known=known))
    return unit


def _sense_of_map(header: str, value: object) -> Sense | None:
    """A header's entry: 'role', 'role unit', a table {role, unit, person, repeat}, '' for
    carried."""
    person, repeat = "", 0
    if isinstance(value, Mapping):
        person, repeat = str(value.get("person", "")), value.get("repeat", 0)
        value = f"{value.get('role', '')} {value.get('unit', '')}"
    role, _, unit_word = str(value).strip().partition(" ")
    if not role:
        return None
    if role not in ROLES:
        raise InputError(
            say("intake.error.map_role", header=header, role=role, known=", ".join(ROLES))
        )
    unit = UNIT_WORDS.get(unit_word.strip().casefold(), "")
    if unit_word.strip() and unit not in unit_factors(role):
        known = ", ".join(unit_factors(role)) or say("intake.error.no_unit")
        raise InputError(
            say("intake.error.map_unit", header=header, unit=unit_word.strip(), known=known)
        )
    if type(repeat) is not int or not 0 <= repeat < _MOST_REPEATS:
        raise InputError(say("intake.error.map_repeat", header=header, value=repeat))
    return Sense(role, unit, repeat=repeat, person=person, why=say("intake.why.map"))


def _type_rows(rows: str, type_text: str) -> TypeRows:
    match = _ROWS.fullmatch(rows.replace(" ", ""))
    if match is None or not type_text:
        raise InputError(say("intake.error.type_rows", rows=rows, type=type_text))
    ranges = []
    for part in match["ranges"].split(","):
        first, _, last = part.partition("-")
        ranges.append((int(first), int(last or first)))
    return TypeRows(f"{rows}={type_text}", match["sheet"] or "", tuple(ranges), type_text)
