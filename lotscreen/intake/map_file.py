"""A map file that says how sheets were understood, for a person to edit and give back."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator

from lotscreen.intake.grid import plain_words
from lotscreen.intake.headers import sense_of
from lotscreen.intake.options import ReadOptions
from lotscreen.intake.vocabulary import ROLES
from lotscreen.records import ColumnUnderstood, Intake
from lotscreen.words import say

_AGAIN = re.compile(r"(?P<header>.+) \(\d+\)")


def map_text(intake: Intake, options: ReadOptions) -> str:
    """TOML that, given back as a map, makes the same sheets be understood the same way."""
    given = dict(options.mapping or {})
    signs = {table.decimal_sign for table in intake.tables}
    lines = [f"# {line}" for line in say("intake.map.about").splitlines()]
    lines += ["", *_choice("header_row", given.get("header_row"), _first_header(intake))]
    only = signs.pop() if len(signs) == 1 else None
    lines += _choice("decimal_sign", given.get("decimal_sign", only), ".")
    unit = options.weight_unit or given.get("weight_unit")
    lines += _choice("weight_unit", unit, "grain")
    lines += _choice("same_coins", given.get("same_coins"), False)
    lines += ["", f"# {say('intake.map.roles', roles=', '.join(ROLES))}", "[columns]"]
    lines += _columns(intake)
    return "\n".join(lines) + "\n"


def _first_header(intake: Intake) -> int:
    return intake.tables[0].header_row if intake.tables else 1


def _choice(name: str, value: object, example: object) -> Iterator[str]:
    """A line that sets ``name``; one behind a '#' where it was left to the program."""
    shown = example if value is None else value
    yield f"# {say(f'intake.map.{name}')}"
    yield f"{'# ' if value is None else ''}{name} = {json.dumps(shown, ensure_ascii=False)}"


def _columns(intake: Intake) -> Iterator[str]:
    """One line a header; a header that occurs in several tables once."""
    done: set[str] = set()
    for table in intake.tables:
        headers = {plain_words(column.header) for column in table.columns}
        for column in table.columns:
            again = _AGAIN.fullmatch(plain_words(column.header))
            plain = plain_words(column.header)
            if plain in done or (again is not None and again["header"] in headers):
                continue
            done.add(plain)
            key = json.dumps(column.header, ensure_ascii=False)
            why = " ".join(column.why.split())
            yield f"{key} = {_entry(column)}  # {why}"


def _entry(column: ColumnUnderstood) -> str:
    """'role unit', or a table where the header also says who measured or which repeat."""
    sense = sense_of(column.header)
    facts: dict[str, object] = {"role": column.role, "unit": column.unit}
    if sense is not None and sense.role == column.role:
        facts |= {"person": sense.person, "repeat": sense.repeat}
    if not (facts.get("person") or facts.get("repeat")):
        return json.dumps(f"{column.role} {column.unit}".strip())
    said = ", ".join(f"{name} = {json.dumps(value)}" for name, value in facts.items() if value)
    return f"{{ {said} }}"
