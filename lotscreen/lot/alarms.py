"""Alarms about the lot as a whole: five questions under one budget.

How it is shared out among them, and among the looks that one question takes, stands in
:mod:`lotscreen.lot.budget`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr
from scipy.stats import binom

from lotscreen.lot.alike import most_alike
from lotscreen.lot.budget import BUDGET, EACH, LOOK, LOOKS_AT_ORDER, QUESTIONS
from lotscreen.lot.day import drift_rate
from lotscreen.lot.statement import LotAlarm, TypeStatement
from lotscreen.records import (
    FLAGGED,
    UNSETTLED,
    Bools,
    FindingKind,
    Findings,
    Floats,
    Ints,
    ItemTable,
    Texts,
)
from lotscreen.sequential.back_sums import back_sums
from lotscreen.sequential.order import order_statement, unevenness
from lotscreen.settings import ALARMS_PER_LIMIT, Settings
from lotscreen.wear import Fit
from lotscreen.words import say

HONEST_ALIKE = 0.2
"""Pairs of honest coins set aside that are alike, at most (checked by simulation)."""

WIDEST_SPREAD = 0.9
"""Standard deviation over mean of the wear of coins of one date in one population, at most
(assumed; 0.6 to 0.75 in the worlds of wear that the simulator knows as one population)."""

_LEAST_FLAGGED = 5
_MOST_NAMED = 8
_CELL_SD = 12.0**-0.5  # of a step
_ALIKE_SDS = 2.5
_LEAST_GROUPS = 20
_WORN_SDS = 3.0
_LEAST_WORN = 50
_RESAMPLES = 200
_MOST_WORN, _MOST_FLAGGED = 5000, 1000  # more take room and say no more
_ALIKE_SPREADS = 0.5


@dataclass(frozen=True, slots=True)
class LotCoins:
    """Coins of one lot in measuring order: rows of one length; ``coin_id`` are the sheet's
    own numbers."""

    table: ItemTable
    findings: Findings
    coin_id: Texts


def lot_alarms(
    coins: LotCoins, types: Sequence[TypeStatement], fit: Fit, settings: Settings, seed: int = 0
) -> tuple[LotAlarm, ...]:
    """The five questions with their answers, in the order of :data:`QUESTIONS`. ``types``
    are the statements on the types of the lot; ``seed`` draws the resamples."""
    answers = {
        "order": _order(coins),
        "mean": _mean(types),
        "clusters": _clusters(coins, seed),
        "mixed_wear": _mixed_wear(coins, types, fit, seed),
        "share": _share(coins, settings),
    }
    return tuple(_answered(name, *answers[name]) for name in QUESTIONS)


def _answered(name: str, rate: float | None, facts: dict[str, object]) -> LotAlarm:
    if rate is None:
        return LotAlarm(name, None, EACH, False, say(f"lot.alarm.{name}_not_asked", **facts))
    alarmed = rate <= EACH
    key = f"lot.alarm.{name}" if alarmed else f"lot.alarm.{name}_quiet"
    return LotAlarm(name, rate, EACH, alarmed, say(key, **facts))


def _order(coins: LotCoins) -> tuple[float | None, dict[str, object]]:
    """Five looks: runs and change-point of the residuals by measuring order, their moving
    average and running sums (those of the day's strip), and whether coins set aside lie
    together. Of groups where coins lie in groups, since coins of one roll share wear and
    follow each other."""
    z = coins.findings.z_weight
    flagged: Bools = np.isin(coins.findings.finding, FLAGGED)
    group = coins.table.group.astype(str)
    if (group != "").any():
        names = [name for name in dict.fromkeys(group) if name]
        known = np.isfinite(z)
        of_name = [z[known & (group == name)] for name in names]
        z = np.array([np.median(own) if len(own) else np.nan for own in of_name])
        flagged = np.array([flagged[group == name].any() for name in names])
        if len(z) < _LEAST_GROUPS:
            return None, {"groups": len(z)}
    placed = order_statement(z)
    if placed.runs is None:
        return None, {"groups": placed.coins}
    uneven, place = unevenness(flagged)
    drift, sums = drift_rate(z), back_sums(z, LOOK)
    looks = {
        "": placed.p_value / 2.0,  # allows for two already
        "uneven": uneven,
        "drift": 1.0 if drift is None else drift,
        "sums": 1.0 if sums is None else sums.rate,
    }
    first = min(looks, key=lambda name: looks[name])
    rate = min(len(LOOKS_AT_ORDER) * looks[first], 1.0)
    if not first:
        return rate, {"note": placed.note}
    facts = {"marked": int(flagged.sum()), "before": int(flagged[:place].sum()), "place": place,
             "at": 0 if sums is None else sums.signal_at}  # fmt: skip
    what = "coins" if len(z) == len(group) else "rolls"
    quiet = "" if rate <= EACH else "_quiet"
    return rate, {"note": say(f"lot.alarm.{first}_{what}{quiet}", **facts)}


def _mean(types: Sequence[TypeStatement]) -> tuple[float | None, dict[str, object]]:
    """The lot's centre against what was declared before; the rarest type of all."""
    if not types:
        return None, {}
    rarest = min(types, key=lambda stated: stated.shift_p)
    rate = min(rarest.shift_p * len(types), 1.0)
    return rate, {"name": rarest.type_name, "shift": rarest.shift_percent}


def _clusters(coins: LotCoins, seed: int) -> tuple[float | None, dict[str, object]]:
    """Two looks, so that the rate is twice that of the rarer one: coins set aside that are
    alike among those set aside; coins, set aside or not, that are alike where chance puts
    few (:mod:`lotscreen.lot.alike`). Either way one mould or one maker would explain it."""
    looks = [look for look in (_flagged_alike(coins, seed), _any_alike(coins, seed)) if look]
    if not looks:
        return None, {"coins": len(coins.table)}
    rare, rows, said = min(looks, key=lambda look: look[0])
    names = [str(coins.coin_id[row]) for row in rows[:_MOST_NAMED]]
    more = say("lot.alarm.more", n=len(rows) - len(names)) if len(rows) > len(names) else ""
    named = ", ".join(names) + more
    return min(len(looks) * rare, 1.0), {"alike": len(rows), "named": named, "among": said}


def _any_alike(coins: LotCoins, seed: int) -> tuple[float, Ints, str] | None:
    judged: Bools = ~np.isin(coins.findings.finding, UNSETTLED)
    flagged: Bools = np.isin(coins.findings.finding, FLAGGED)
    found = most_alike(coins.table, judged, flagged, seed)
    if found is None:
        return None
    readings = say(f"lot.alarm.alike_{'_'.join(found.readings)}")
    facts = {"readings": readings, "chance": found.by_chance}
    return found.rate, found.rows, say("lot.alarm.among_all", **facts)


def _flagged_alike(coins: LotCoins, seed: int) -> tuple[float, Ints, str] | None:
    """One coin set aside that many others set aside are like, in weight, diameter and
    thickness together (within two and a half standard deviations of reading, or half the
    spread of the lot where that is more). Honest coins set aside by chance are that alike
    in a fifth of pairs at most (:data:`HONEST_ALIKE`)."""
    table = coins.table
    columns = np.column_stack([table.weight_g, table.diameter_mm, table.thickness_mm])
    known = np.isfinite(columns).all(axis=1)
    flagged = known & np.isin(coins.findings.finding, FLAGGED)
    others = known & (coins.findings.finding == FindingKind.CONSISTENT)
    if flagged.sum() < _LEAST_FLAGGED or not others.any():
        return None
    rows = _some(np.flatnonzero(flagged), _MOST_FLAGGED, np.random.default_rng(seed))
    near = alike_pairs(table, rows, np.flatnonzero(others))
    like = near.sum(axis=1)
    first = int(np.argmax(like))
    rate = len(rows) * float(binom.sf(like[first] - 1, len(rows) - 1, HONEST_ALIKE))
    group = np.sort(np.append(np.flatnonzero(near[first]), first))
    return min(rate, 1.0), rows[group], say("lot.alarm.among_flagged", coins=len(rows))


def alike_pairs(table: ItemTable, flagged: Ints, others: Ints) -> Bools:
    """Which of the ``flagged`` rows are alike, pair by pair (square, False on the diagonal);
    the spread of the lot is that of the ``others``."""
    columns = np.column_stack([table.weight_g, table.diameter_mm, table.thickness_mm])
    weight_u_g = np.hypot(table.weight_u_g, _CELL_SD * table.weight_step_g)
    errors = np.column_stack([weight_u_g, table.diameter_u_mm, table.thickness_u_mm])
    limit = np.maximum(
        _ALIKE_SDS * np.sqrt(2.0) * np.median(errors[flagged], axis=0),
        _ALIKE_SPREADS * columns[others].std(axis=0),
    )
    scaled = columns[flagged] / limit
    near: Bools = np.abs(scaled[:, None, :] - scaled[None, :, :]).max(axis=2) <= 1.0
    np.fill_diagonal(near, False)
    return near


def _mixed_wear(
    coins: LotCoins, types: Sequence[TypeStatement], fit: Fit, seed: int
) -> tuple[float | None, dict[str, object]]:
    """Losses of the type with most coins against what their dates lead to expect: is their
    spread wider than that of one population of coins (:data:`WIDEST_SPREAD`)? The spread
    of struck coins and of the balance is taken off; errors by resampling with ``seed``."""
    facts: dict[str, object] = {"least": _LEAST_WORN, "widest": 100 * WIDEST_SPREAD}
    if not types:
        return None, facts
    fitted = fit.types[max(types, key=lambda stated: stated.coins).type_key]
    standard, table = fitted.coin_type.weight_g, coins.table
    expected = 1.0 - coins.findings.expected_weight_g / standard
    struck = np.hypot(fitted.struck.sd_g, table.weight_u_g) / standard
    # where little is worn the spread of struck coins hides that of wear
    kept = (table.type_key == fitted.coin_type.key) & (expected >= _WORN_SDS * struck)
    kept &= coins.findings.finding == FindingKind.CONSISTENT
    if kept.sum() < _LEAST_WORN:
        return None, facts
    rng = np.random.default_rng(seed)
    rows = _some(np.flatnonzero(kept), _MOST_WORN, rng)
    lost = (1.0 - table.weight_g[rows] / standard) / expected[rows]
    noise = np.square(struck[rows] / expected[rows])
    drawn = rng.integers(0, len(lost), (_RESAMPLES, len(lost)))
    spread = float(_spread(lost[None, :], noise[None, :])[0])
    error = float(_spread(lost[drawn], noise[drawn]).std())
    rate = float(ndtr((WIDEST_SPREAD - spread) / max(error, 1e-9)))
    return rate, {**facts, "spread": 100 * spread}


def _some(rows: Ints, most: int, rng: np.random.Generator) -> Ints:
    """The rows, or ``most`` of them taken at random where they are more."""
    return rows if len(rows) <= most else np.sort(rng.choice(rows, most, replace=False))


def _spread(lost: Floats, noise: Floats) -> Floats:
    """Standard deviation over mean of each row, without the noise."""
    own = np.maximum(lost.var(axis=1) - noise.mean(axis=1), 0.0)
    return np.asarray(np.sqrt(own) / np.maximum(lost.mean(axis=1), 1e-9))


def _share(coins: LotCoins, settings: Settings) -> tuple[float | None, dict[str, object]]:
    """More coins set aside than honest alarms explain."""
    judged: Bools = ~np.isin(coins.findings.finding, ["", FindingKind.NOT_JUDGED.value])
    flagged = int(np.isin(coins.findings.finding[judged], FLAGGED).sum())
    number = int(judged.sum())
    if not number:
        return None, {}
    alarm = min(ALARMS_PER_LIMIT * settings.limit, 1.0)
    rate = float(binom.sf(flagged - 1, number, alarm)) if flagged else 1.0
    return rate, {"flagged": flagged, "coins": number, "honest": alarm * number}


def blind_sentences(alarms: Sequence[LotAlarm]) -> tuple[str, ...]:
    """What the questions that were asked cannot see."""
    asked = {alarm.name for alarm in alarms if alarm.rate is not None}
    return (say("lot.alarm.clusters_blind"),) if "clusters" in asked else ()


def budget_sentence(alarms: Sequence[LotAlarm]) -> str:
    """What the alarms together may cost, and how many were asked."""
    asked = sum(alarm.rate is not None for alarm in alarms)
    return say("lot.alarm.budget", asked=asked, all=len(alarms), each=100 * EACH,
               budget=100 * BUDGET)  # fmt: skip
