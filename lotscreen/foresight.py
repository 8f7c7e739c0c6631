"""What a screen of such coins will notice, before any of them is measured.

Honest lots are invented in four worlds of wear that the screen does not know, fitted and
judged like any lot: the alarms among them give the honest alarm rate with an interval.
In one of them coins are altered kind by kind and size by size.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from lotscreen.evidence import judge
from lotscreen.instruments import instruments_of
from lotscreen.intake import read_frame
from lotscreen.lot.what_is_seen import (
    NOTICES,
    Rate,
    SeenKind,
    rate_of,
    rate_of_counts,
    seen_sentence,
    what_is_seen,
)
from lotscreen.one_thread import one_thread
from lotscreen.records import ItemTable, StandardsError
from lotscreen.settings import Settings
from lotscreen.simulate import Balance, CoinSpec, LotSpec, Wear, draw_lot
from lotscreen.simulate.worlds import WORLDS
from lotscreen.standards import CoinType, StandardsTable
from lotscreen.summary import summarise
from lotscreen.wear import Fit, fit
from lotscreen.wear.allowance import depth_at_loss, slick_wear
from lotscreen.wear.fit import with_types
from lotscreen.words import say

_COINS = 500
_MOST_YEARS = 60
_UM_PER_MM = 1000.0
_DEEPENED, _MOST_DEEPER, _LEAST_PERCENT, _LEAST_LEGIBLE = 4, 1.3, 1e-6, 0.6


@dataclass(frozen=True, slots=True)
class Foresight:
    """``by_weight`` and ``by_all`` are the honest alarm rates by weight alone and with
    lengths; ``seen`` the chances to notice by kind and size, of both."""

    by_weight: Rate
    by_all: Rate
    seen: tuple[SeenKind, ...]


@one_thread
def foresee(
    coin_type: CoinType,
    standards: StandardsTable,
    settings: Settings,
    *,
    mean_loss: float,
    step_g: float,
    seed: int = 0,
    coins: int = _COINS,
    progress: Callable[[str], None] | None = None,
) -> Foresight:
    """Rates and chances for coins of one type that have lost ``mean_loss`` of their weight
    on average, weighed on a balance of ``step_g``; four lots of ``coins`` coins, less those
    worn slick, for each set of readings. StandardsError where the type has no diameter on
    file to draw from, or where such coins are slick on average.
    """
    if coin_type.diameter_mm is None:
        raise StandardsError(say("plan.seen.no_diameter", name=coin_type.name))
    if mean_loss >= (slick := slick_wear(coin_type)):
        raise StandardsError(say("plan.seen.slick", name=coin_type.name, slick=100 * slick))
    tell = progress or (lambda _: None)
    spec = _spec(coin_type, depth_at_loss(coin_type, mean_loss), step_g, coins)
    rates: list[Rate] = []
    seen: list[SeenKind] = []
    for measured in (0, None):
        parts = []
        for number, world in enumerate(sorted(WORLDS)):
            tell(say("plan.seen.progress", world=world))
            lot = replace(spec, coins=(_in_world(spec.coins[0], world),), measured=measured)
            sheet = _legible(lot, mean_loss, seed + number)
            table, fitted = _fitted(sheet, coin_type.key, standards, settings)
            found = judge(table, fitted, settings)
            parts.append(rate_of(found))
            if number == 0:
                kinds = what_is_seen(table, found, coin_type.key, fitted, settings)
                seen += [kind for kind in kinds if kind.lengths == (measured is None)]
        rates.append(_pooled(parts))
    return Foresight(rates[0], rates[1], tuple(seen))


def _spec(coin_type: CoinType, depth_mm: float, step_g: float, coins: int) -> LotSpec:
    """An honest lot of the type's last years in use, worn ``depth_mm`` a side on average."""
    last = min(coin_type.last_year or coin_type.circulation_end, coin_type.circulation_end - 5)
    years = tuple(range(max(coin_type.first_year, last - _MOST_YEARS), last + 1))
    in_use = coin_type.circulation_end - float(np.mean(years))
    wear = Wear("gamma", depth_um_per_year=_UM_PER_MM * depth_mm / in_use)
    one = CoinSpec(coin_type, coin_type.words[0] if coin_type.words else coin_type.key, coins,
                   years, coin_type.circulation_end, wear)  # fmt: skip
    return LotSpec((one,), balance=Balance(step_g=step_g, sd_g=step_g))


def _in_world(one: CoinSpec, world: str) -> CoinSpec:
    return replace(one, wear=replace(one.wear, world=world))


def _legible(spec: LotSpec, mean_loss: float, seed: int) -> pd.DataFrame:
    """The sheet of the lot without its slick coins, which nobody lists by type and date; the
    others are worn deeper until they have lost ``mean_loss`` of their weight on average, as
    nearly as coins that are not slick can."""
    (one,) = spec.coins
    slick_percent = 100 * slick_wear(one.coin_type)
    for _ in range(_DEEPENED):
        lot = draw_lot(replace(spec, coins=(one,)), seed)
        lost = lot.key["true_wear_percent"].astype(float)
        legible = lost <= slick_percent
        if legible.mean() < _LEAST_LEGIBLE:
            break
        deeper = 100 * mean_loss / max(float(lost[legible].mean()), _LEAST_PERCENT)
        per_year = min(deeper, _MOST_DEEPER) * one.wear.depth_um_per_year
        one = replace(one, wear=replace(one.wear, depth_um_per_year=per_year))
    return lot.sheet[legible.to_numpy()]


def _fitted(
    sheet: pd.DataFrame, type_key: str, standards: StandardsTable, settings: Settings
) -> tuple[ItemTable, Fit]:
    intake = read_frame(sheet)
    table = summarise(intake.items, intake.readings, instruments_of(intake.readings, settings))
    key = np.full(len(table), type_key, dtype=object)
    table = with_types(replace(table, type_key=key), standards)
    return table, fit(table, standards, settings, 0)


def _pooled(rates: Sequence[Rate]) -> Rate:
    """One rate of all the lots' coins."""
    return rate_of_counts(sum(r.alarms for r in rates), sum(r.coins for r in rates))


def foresight_sentences(found: Foresight) -> list[str]:
    """Rates with their intervals, then the kinds for each chance to notice."""
    said = []
    for key, rate in (("weight", found.by_weight), ("all", found.by_all)):
        facts = {"alarms": rate.alarms, "coins": rate.coins, "low": 100 * rate.low,
                 "high": 100 * rate.high}  # fmt: skip
        said.append(say(f"plan.seen.rate_{key}", **facts))
    for lengths in (False, True):
        said += [seen_sentence(found.seen, notice, lengths) for notice in NOTICES]
    said.append(say("plan.seen.never"))
    return said
