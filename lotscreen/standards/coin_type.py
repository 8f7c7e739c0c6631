"""The frozen record of one dated coin type: what the law or a catalogue says of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Remedy:
    """The maker's allowance for one piece, in force from ``from_year`` on (None: always).

    ``weight_grains`` is the figure in grains where the source gives one.
    """

    from_year: int | None
    weight_g: float
    source: str
    weight_grains: float | None = None


@dataclass(frozen=True, slots=True)
class CoinType:
    """One dated standard. Lengths in mm, weights in g, density in g/cm3, None: not on file.

    ``key`` is our own short name (state, unit, metal where needed, first year). ``words``
    are the lower-case names that a sheet may use. ``thickness_mm`` is a catalogue figure
    over the rim, never law. ``density_sd_g_cm3`` is the width of the alloy's density.
    ``wear_per_year`` is the expected mean loss a year in use as a share of the weight and
    ``wear_log_sd`` the width of its natural logarithm; ``circulation_end`` the year in
    which the series is taken to have left circulation. ``abrasion_share`` of the standard
    may be lost in ``abrasion_years``, ratably. ``sources`` maps a figure's name to the
    statute or table it comes from (or "catalogue figure, not law", "assumed").
    ``qualifiers`` are words beside the unit that point to this standard ("40 %"); a type
    with ``said_only`` is taken only where the text says one of them or the metal. Where
    the first year is also the last of the standard before, ``first_year_note`` tells the
    two apart; ``first_year_words`` and ``first_year_marks`` (mint marks) point to this
    one in its first year, ``last_year_words`` in its last.
    """

    key: str
    name: str
    state: str
    unit: str
    words: tuple[str, ...]
    metal: str
    first_year: int
    last_year: int | None
    weight_g: float
    weight_grains: float | None
    remedies: tuple[Remedy, ...]
    fineness: float | None
    fineness_remedy: float | None
    fine_metal: str | None
    diameter_mm: float | None
    thickness_mm: float | None
    least_current_g: float | None
    abrasion_share: float | None
    abrasion_years: int | None
    density_g_cm3: float
    density_sd_g_cm3: float
    circulation_end: int
    wear_per_year: float
    wear_log_sd: float
    magnetic: bool
    face: str
    sources: Mapping[str, str]
    least_current_grains: float | None = None
    qualifiers: tuple[str, ...] = ()
    said_only: bool = False
    first_year_note: str = ""
    first_year_words: tuple[str, ...] = ()
    first_year_marks: tuple[str, ...] = ()
    last_year_words: tuple[str, ...] = ()

    def remedy_g(self, year: float | None) -> float | None:
        """The remedy in force in ``year`` (the latest where the year is not known)."""
        chosen: float | None = None
        for remedy in self.remedies:
            if remedy.from_year is None or year is None or year != year or year >= remedy.from_year:
                chosen = remedy.weight_g
        return chosen

    def struck_in(self, year: float) -> bool:
        """Whether the type was struck in ``year``."""
        return self.first_year <= year and (self.last_year is None or year <= self.last_year)

    def lowest_current_g(self, years_in_use: float, year: float | None = None) -> float | None:
        """The weight in g below which a piece is no longer current, None where law sets none.

        Where the law allows abrasion, the lower of the abrasion limit after
        ``years_in_use`` and the standard less the remedy: the gold dollar of 1873 may be
        struck lighter (25.55 gr) than wear alone may make it (25.671 gr).
        """
        if self.least_current_g is not None:
            return self.least_current_g
        if self.abrasion_share is None or self.abrasion_years is None:
            return None
        used = min(max(years_in_use, 0.0), self.abrasion_years) / self.abrasion_years
        worn_g = self.weight_g * (1 - self.abrasion_share * used)
        return min(worn_g, self.weight_g - (self.remedy_g(year) or 0.0))


@dataclass(frozen=True, slots=True)
class Resolution:
    """What a type text and a year lead to: ``key`` is '' when no single standard fits,
    ``note`` then says why in words, ``candidates`` lists the keys that were near."""

    key: str
    candidates: tuple[str, ...]
    note: str
