"""The share of coins that are no honest coins of their type, as an interval that widens
when the assumption behind it is dropped.

With the fitted kinds as they are the share is told by profile likelihood. By weight alone a
lighter alloy within the range of wear reads like a more worn coin: how far the tail of wear
reaches was learned from the same coins. The wider interval drops this: the weight of the
tail and the strips of light alloy are free, and the likelihood is at its highest over them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.records import Bools, Floats, ItemTable
from lotscreen.wear import TypeFit, grid
from lotscreen.wear.components import components
from lotscreen.wear.date_wear import date_wear, mean_and_sd
from lotscreen.wear.joint import (
    Lengths,
    by_date,
    component_terms,
    ground_of,
    honest_terms,
    weight_terms,
)
from lotscreen.wear.lengths import judged_diameter
from lotscreen.wear.predict import predictor
from lotscreen.wear.standing import coin_rows, standings
from lotscreen.wear.struck import cells_given_wear

_DROP = 1.92  # of the log likelihood, for 95 % (chi-squared of one degree of freedom)
_MOST_COINS = 2000  # of more coins every so many-th in order of weight
_TAIL_FROM = 0.015  # loss beyond the date's mean from where light alloy may stand in for it
_SHARES: Floats = np.concatenate([[0.0], np.geomspace(2e-4, 0.9, 60)])
_ROUNDS = 40
_LIGHT = "lighter_alloy"


@dataclass(frozen=True, slots=True)
class ShareInterval:
    """Shares 0..1: likeliest, interval with the kinds fixed, and the wider one."""

    value: float
    low: float
    high: float
    wide_low: float
    wide_high: float


def false_share(coins: ItemTable, fit: TypeFit) -> ShareInterval:
    """The share among ``coins`` (one type, all with a weight)."""
    if len(coins) > _MOST_COINS:
        rising = np.argsort(coins.weight_g, kind="stable")
        coins = coins.rows(rising[np.linspace(0, len(coins) - 1, _MOST_COINS).astype(np.int64)])
    body, tail, light, others = _densities(coins, fit)
    shares = fit.component_shares[_is_light(fit)]
    fixed = light @ shares + (1 - float(shares.sum())) * others
    likelihood = np.array([
        np.log(np.maximum((1 - s) * (body + tail) + s * fixed, 1e-300)).sum() for s in _SHARES
    ])  # fmt: skip
    low, high = _within(likelihood)
    free = _free_likelihood(body, tail, light, others)
    wide_low, wide_high = _within(free)
    return ShareInterval(
        float(_SHARES[int(np.argmax(likelihood))]), low, high, min(low, wide_low),
        max(high, wide_high),
    )  # fmt: skip


def reading_densities(coins: ItemTable, fit: TypeFit) -> tuple[Floats, Floats]:
    """Density of the readings of ``coins`` (n,) as honest coins of their dates and as
    departing ones, each in its fitted share: probability of the weight's cell, times
    density per mm of each length that speaks."""
    body, tail, light, others = _densities(coins, fit)
    shares = fit.component_shares[_is_light(fit)]
    departing = light @ shares + (1 - float(shares.sum())) * others
    return (1 - fit.departing_share) * (body + tail), fit.departing_share * departing


def _is_light(fit: TypeFit) -> Bools:
    """Which components are strips of light alloy."""
    kinds = components(fit.coin_type, fit.by_weight)
    return np.array([c.group == _LIGHT for c in kinds], dtype=np.bool_)


def _densities(coins: ItemTable, fit: TypeFit) -> tuple[Floats, Floats, Floats, Floats]:
    """Joint density of the readings of n coins: honest ones worn as their date leads to
    expect, honest ones in the tail of wear (the two add up), each strip of light alloy
    (n x strips), and the other kinds in their fitted shares."""
    rows = coin_rows(coins, fit, np.zeros(len(coins), np.bool_))
    tables = predictor(fit)
    wear = np.array([tables.wear(of) for of in standings(coins, fit)])
    date = date_wear(wear)
    ground = ground_of(fit)
    joint = wear * cells_given_wear(rows.low_g, rows.high_g, rows.u_g, fit.struck)
    thickness = by_date(coins.thickness_mm, fit, rows, mean_and_sd(joint)[0])
    lengths = Lengths(judged_diameter(coins)[0], thickness)
    in_tail = grid.WEAR[None, :] > (date.mean + _TAIL_FROM)[:, None]
    body, tail = (
        honest_terms(ground, part.sum(axis=1), lengths, *mean_and_sd(part))
        for part in (np.where(in_tail, 0.0, joint), np.where(in_tail, joint, 0.0))
    )
    weight = weight_terms(ground, rows.low_g, rows.high_g, rows.u_g, date)
    terms = component_terms(ground, weight, lengths)
    light = _is_light(fit)
    rest = fit.component_shares[~light]
    return body, tail, terms[:, light], terms[:, ~light] @ (rest / max(float(rest.sum()), 1e-12))


def _free_likelihood(body: Floats, tail: Floats, light: Floats, others: Floats) -> Floats:
    """Highest log likelihood at each share, over the weight of the tail of wear and the
    shares of the strips (expectation-maximisation at a fixed share)."""
    kinds = np.column_stack([light, others])
    mass = _tail_mass(body, tail)
    honest = np.column_stack([body / (1 - mass), tail / mass])
    honest_split = np.array([1 - mass, mass])
    kind_split = np.full(kinds.shape[1], 1 / kinds.shape[1])
    result = []
    for share in _SHARES:
        for _ in range(_ROUNDS):
            by_honest = (1 - share) * honest * honest_split
            by_kind = share * kinds * kind_split
            total = np.maximum(by_honest.sum(axis=1) + by_kind.sum(axis=1), 1e-300)
            if share < 1:
                honest_split = _split((by_honest / total[:, None]).sum(axis=0))
            if share > 0:
                kind_split = _split((by_kind / total[:, None]).sum(axis=0))
        result.append(float(np.log(total).sum()))
    return np.array(result)


def _tail_mass(body: Floats, tail: Floats) -> float:
    """Mass of the tail of wear among these coins, as fitted."""
    both = np.maximum(body + tail, 1e-300)
    return float(np.clip(np.mean(tail / both), 1e-4, 0.9))


def _split(counts: Floats) -> Floats:
    counts = np.maximum(counts, 1e-9)
    return np.asarray(counts / counts.sum())


def _within(likelihood: Floats) -> tuple[float, float]:
    """Ends of the shares whose log likelihood is within reach of the highest one."""
    best = float(likelihood.max())
    inside = np.flatnonzero(likelihood >= best - _DROP)
    first, last = int(inside[0]), int(inside[-1])
    low = _SHARES[first] if first == 0 else _crossing(likelihood - best + _DROP, first - 1)
    high = _SHARES[-1] if last == len(_SHARES) - 1 else _crossing(likelihood - best + _DROP, last)
    return float(low), float(high)


def _crossing(excess: Floats, at: int) -> float:
    """Share at which ``excess`` changes its sign between two neighbours."""
    a, b = excess[at], excess[at + 1]
    return float(_SHARES[at] + (_SHARES[at + 1] - _SHARES[at]) * a / (a - b))
