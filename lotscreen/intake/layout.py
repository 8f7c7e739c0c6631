"""Which column of a table plays which role."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from lotscreen.intake.grid import Column
from lotscreen.intake.headers import Sense
from lotscreen.intake.table import Table
from lotscreen.intake.vocabulary import MEASURE_ROLES, SCOPED_ROLES, SINGLE_ROLES, is_missing
from lotscreen.words import say


@dataclass(frozen=True, slots=True)
class Measure:
    """A column of readings: which repeat of which quantity, and the columns that say by
    whom, with what, when and in which holder (by role)."""

    column: Column
    sense: Sense
    quantity: str
    repeat: int
    scoped: Mapping[str, Column]


@dataclass(frozen=True, slots=True)
class Layout:
    """The columns of a table by role. ``whys`` has a line for every column, in order:
    header, role ('' carried through) and the reason."""

    single: Mapping[str, Column]
    groups: tuple[Column, ...]
    measures: tuple[Measure, ...]
    scoped: tuple[Column, ...]
    carried: tuple[Column, ...]
    whys: tuple[tuple[str, str, str], ...]

    def named(self) -> Iterable[Column]:
        """Columns that name a thing or say what it is, coin's number first."""
        order = ("coin_id", "type", "kind", "date", "lot")
        yield from (self.single[role] for role in order if role in self.single)
        yield from self.groups


def layout_of(table: Table) -> Layout:
    """Assign roles; where two columns want the same one, the better word wins."""
    senses = _with_coin_decided(table)
    owner = _owners(senses)
    by_role: dict[str, list[Column]] = {}
    whys = []
    for place, (column, sense) in enumerate(zip(table.columns, senses, strict=True)):
        role, why = _role_at(table, sense, owner, place)
        by_role.setdefault(role, []).append(column)
        whys.append((column.header, role, why))
    return Layout(
        single={role: by_role[role][0] for role in SINGLE_ROLES if role in by_role},
        groups=tuple(by_role.get("group", ())),
        measures=_measures(table, senses),
        scoped=tuple(column for role in SCOPED_ROLES for column in by_role.get(role, ())),
        carried=tuple(by_role.get("", ())),
        whys=tuple(whys),
    )


def _role_at(
    table: Table, sense: Sense | None, owner: Mapping[str, int], place: int
) -> tuple[str, str]:
    """Role of the column at ``place`` and why; '' where it is carried through."""
    if sense is None:
        return "", say("intake.why.carried")
    if sense.role in SINGLE_ROLES and owner[sense.role] != place:
        first = table.columns[owner[sense.role]].header
        return "", say("intake.why.second", first=first)
    return sense.role, sense.why


def _with_coin_decided(table: Table) -> list[Sense | None]:
    """A column headed "coin" is the type where its cells are words, else the number."""
    taken = {sense.role for sense in table.senses if sense is not None}
    decided: list[Sense | None] = []
    for column, sense in zip(table.columns, table.senses, strict=True):
        if sense is not None and sense.role == "coin":
            role = "type" if _holds_words(column) else "coin_id"
            sense = None if role in taken else replace(sense, role=role)
        decided.append(sense)
    return decided


def _holds_words(column: Column) -> bool:
    filled = ~column.where(is_missing)
    words = column.where(lambda text: sum(map(str.isalpha, text)) >= 3)
    return bool((words & filled).sum() * 2 > filled.sum())


def _owners(senses: list[Sense | None]) -> dict[str, int]:
    owner: dict[str, int] = {}
    for place, sense in enumerate(senses):
        if sense is None or sense.role not in SINGLE_ROLES:
            continue
        rival = senses[owner[sense.role]] if sense.role in owner else None
        if rival is None or sense.rank < rival.rank:
            owner[sense.role] = place
    return owner


def _measures(table: Table, senses: list[Sense | None]) -> tuple[Measure, ...]:
    taken: dict[str, set[int]] = {}
    found = []
    for place, (column, sense) in enumerate(zip(table.columns, senses, strict=True)):
        if sense is None or sense.role not in MEASURE_ROLES:
            continue
        quantity = "weight" if sense.role == "weight_gross" else sense.role
        used = taken.setdefault(quantity, set())
        repeat = sense.repeat
        if repeat == 0 or repeat in used:
            repeat = next(n for n in range(1, len(used) + 2) if n not in used)
        used.add(repeat)
        scoped = {
            role: at
            for role in SCOPED_ROLES
            if (at := _scoped(table, senses, role, place)) is not None
        }
        found.append(Measure(column, sense, quantity, repeat, scoped))
    return tuple(found)


def _scoped(table: Table, senses: list[Sense | None], role: str, place: int) -> Column | None:
    """The column of ``role`` that speaks of the measure at ``place``: the only one, else
    the next to the right, else the last."""
    places = [i for i, sense in enumerate(senses) if sense is not None and sense.role == role]
    if not places:
        return None
    chosen = next((i for i in places if i > place), places[-1]) if len(places) > 1 else places[0]
    return table.columns[chosen]
