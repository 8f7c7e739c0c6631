"""Where a coin stands in its lot: the coins whose wear tells what its own may be."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple, Self

import numpy as np

from lotscreen.records import Bools, Floats, Ints, ItemTable
from lotscreen.wear.distinct import distinct_rows
from lotscreen.wear.grades import grade_index
from lotscreen.wear.group_levels import UNSEEN, group_name
from lotscreen.wear.type_fit import TypeFit

NONE = -1


class Standing(NamedTuple):
    """Year struck (-1: none), index of the coin's group and of its grade (-1: none that
    says anything). A graded coin stands with its grade alone."""

    year: float
    group: int = NONE
    grade: int = NONE


def standing(at: float | Standing) -> Standing:
    """A year (NaN: none) as a standing; a standing is itself."""
    if isinstance(at, Standing):
        return at
    return Standing(at if at == at else -1.0)


@dataclass(frozen=True, slots=True)
class CoinRows:
    """Cell of the weight, its uncertainty, year, whether in the fit, index of group and
    grade, n coins."""

    low_g: Floats
    high_g: Floats
    u_g: Floats
    year: Floats
    in_fit: Bools
    group: Ints
    grade: Ints

    def rows(self, index: Ints) -> Self:
        """The coins at ``index``."""
        return type(self)(*(getattr(self, name)[index] for name in self.__slots__))

    def standing(self, k: int) -> Standing:
        """Where coin ``k`` stands."""
        year = float(self.year[k])
        return Standing(year if year == year else -1.0, int(self.group[k]), int(self.grade[k]))

    def stacked(self) -> Floats:
        """One row of numbers a coin: equal ones are predicted once."""
        year = np.where(np.isnan(self.year), -1.0, self.year)
        return np.column_stack([
            self.low_g, self.high_g, self.u_g, year, self.in_fit, self.group, self.grade
        ])  # fmt: skip


def standings_of_stack(rows: Floats) -> list[Standing]:
    """The standings of rows as :meth:`CoinRows.stacked` gives them."""
    return standings_at(rows[:, [3, 5, 6]])


def standings_at(places: Floats) -> list[Standing]:
    """Standings from year, group and grade, n x 3."""
    return [Standing(year, int(group), int(grade)) for year, group, grade in places]


def by_standing(rows: Floats, value: Callable[[Standing], Floats]) -> Floats:
    """``value`` of the standing of each of the rows (n, as of :meth:`CoinRows.stacked`),
    looked up once a standing."""
    distinct, of, _ = distinct_rows(rows[:, [3, 5, 6]])
    return np.array([value(one) for one in standings_at(distinct)])[of]


def coin_rows(
    coins: ItemTable, fit: TypeFit | None, in_fit: Bools, mates: Bools | None = None
) -> CoinRows:
    """The weights of ``coins`` (one type) with their standings by ``fit`` (None: grades
    alone). ``mates`` are the coins whose group may be looked up by its name (default: those
    ``in_fit``): another lot's roll may have the same one."""
    grade = grade_index(coins.grade)
    group = np.full(len(coins), NONE, dtype=np.int64)
    if fit is not None and fit.groups is not None and fit.groups.matter:
        known = {name: i for i, name in enumerate(fit.groups.names)}
        looked_up = in_fit if mates is None else mates
        for i in np.flatnonzero((coins.group != "") & (grade < 0)):
            name = group_name(coins.lot[i], coins.group[i])
            group[i] = known.get(name, UNSEEN) if looked_up[i] else UNSEEN
    return CoinRows(
        coins.weight_low_g, coins.weight_high_g, coins.weight_u_g, coins.year, in_fit, group,
        grade,
    )  # fmt: skip


def standings(coins: ItemTable, fit: TypeFit) -> list[Standing]:
    """The standings of coins that were in the fit."""
    every = np.ones(len(coins), np.bool_)
    return standings_of_stack(coin_rows(coins, fit, every).stacked())


def distinct_standings(coins: ItemTable, fit: TypeFit) -> tuple[list[Standing], Ints]:
    """The distinct standings of coins that were in the fit, undated ones last, and which
    of them each coin has (n,)."""
    every = standings(coins, fit)
    known = sorted(set(every), key=lambda of: (of.year < 0, of))
    place = {of: i for i, of in enumerate(known)}
    return known, np.array([place[of] for of in every], dtype=np.int64)
