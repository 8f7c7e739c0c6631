"""Whether rolls and other groups are worn unlike the rest of their dates, and by how much.

The wear of a group's coins is that of their dates times a factor of its own. Whether groups
have such factors at all is tested: the evidence that some have is weighed against none. A
group may also hold other coins than the lot does: a few, many, or nothing else. Then its
light coins speak for that as much as for wear, and they pull the group's wear the less the
better they fit a departure by all their readings; no group is worn beyond slick.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import expit, logsumexp

from lotscreen.records import Bools, Floats, Ints, ItemTable
from lotscreen.wear import grid
from lotscreen.wear.allowance import still_legible
from lotscreen.wear.group_levels import STEPS, GroupLevels, at_steps, group_name
from lotscreen.wear.own_part import said_by_cell, without_own
from lotscreen.wear.standing import NONE, CoinRows
from lotscreen.wear.struck import once_a_cell
from lotscreen.wear.type_fit import TypeFit

LEAST_COINS = 5
"""Coins of one type and without grade from which a group has a level of its own."""
_SPREADS = (0.12, 0.25, 0.5)
_SHARES = (0.03, 0.1, 0.3, 1.0)
"""Spread of the logarithm of the factor among groups that have one, and the share of groups
that have one: averaged over, all alike (assumed)."""
_LEAST_SHARE = 0.002
_OTHER_SHARES, _OTHER_PRIOR = (0.0, 0.3, 0.95), (0.998, 0.001, 0.001)
"""Share of other coins in a group at least, and how often groups have so many (assumed)."""


@dataclass(frozen=True, slots=True)
class Groups:
    """``names`` of the groups with coins enough, and which of them each coin is of (-1)."""

    names: tuple[str, ...]
    of: Ints


def groups_of(coins: ItemTable) -> Groups | None:
    """The groups of at least :data:`LEAST_COINS` coins without grade; None where there are
    none, or no other coins that they could differ from."""
    named = np.flatnonzero((coins.group != "") & (coins.grade == ""))
    if not len(named):
        return None
    each = [group_name(coins.lot[i], coins.group[i]) for i in named]
    names, which, counts = np.unique(np.array(each), return_inverse=True, return_counts=True)
    enough = counts >= LEAST_COINS
    if not enough.any() or len(coins) - counts[enough].max() < LEAST_COINS:
        return None
    place = np.where(enough, np.cumsum(enough) - 1, NONE)
    of = np.full(len(coins), NONE, dtype=np.int64)
    of[named] = place[which.ravel()]
    return Groups(tuple(str(name) for name in names[enough]), of)


def steps_of(levels: GroupLevels | None, groups: Groups | None) -> Ints | None:
    """How far the group of each coin departs from its date, in whole steps; None where no
    group has a level of its own."""
    if levels is None or groups is None or not levels.matter:
        return None
    return np.append(levels.used_steps(), 0)[groups.of]


def learn_groups(
    fit: TypeFit, rows: CoinRows, groups: Groups, cell: Floats, departing: Floats
) -> GroupLevels:
    """The groups' levels from the coins of the fit (n ``rows``), the levels of dates known.

    ``cell`` is the probability of each coin's weight, ``departing`` the density of all its
    readings as a departing coin over that as an honest one, both as the fit stands.
    """
    log_likelihood = group_log_likelihood(fit, rows, groups, cell, departing)
    coins = np.bincount(groups.of[groups.of >= 0]).astype(np.float64)
    return pooled_groups(groups.names, coins, log_likelihood)


def group_log_likelihood(
    fit: TypeFit, rows: CoinRows, groups: Groups, cell: Floats, departing: Floats
) -> Floats:
    """Groups x STEPS: natural log likelihood of each group's departure from its dates, up
    to a constant; arguments as of :func:`learn_groups`."""
    inside = np.flatnonzero(groups.of >= 0)
    steps = steps_of(fit.groups, groups)
    used = np.zeros(len(inside), np.int64) if steps is None else steps[inside]
    ratio = _honest_ratio(fit, rows.rows(inside), used, cell[inside])
    share = float(np.clip(fit.departing_share, _LEAST_SHARE, 0.9))
    return _by_group(ratio, departing[inside], share, groups.of[inside], len(groups.names))


def _honest_ratio(fit: TypeFit, rows: CoinRows, used: Ints, cell: Floats) -> Floats:
    """Coins x STEPS: how much likelier each coin's weight is, were its group so far from
    its date, than as the fit stands. Its own pull on its date is taken out."""
    cells = np.column_stack([rows.low_g, rows.high_g, rows.u_g])
    once = once_a_cell(cells, fit.struck, fit.struck.shift_sd * fit.struck.weight_g)
    given_wear, by_level = once.tails.cell, fit.by_level()
    said = said_by_cell(fit, once.low_g, once.high_g, given_wear, by_level)
    level = without_own(fit.date_posterior[_date_of(fit, rows.year)], at_steps(said[once.of], used))
    honest = ((given_wear * still_legible(fit.coin_type)) @ by_level)[once.of]
    below, above = -int(STEPS[0]), int(STEPS[-1])
    wider = np.pad(honest, ((0, 0), (below, above)), mode="edge")
    starts = below + STEPS
    found = [np.einsum("cl,cl->c", level, wider[:, k : k + grid.LEVELS]) for k in starts]
    return np.stack(found, axis=1) / np.maximum(cell, 1e-290)[:, None]


def _date_of(fit: TypeFit, year: Floats) -> Ints:
    dated = np.searchsorted(fit.date_years, year)
    return np.where(np.isnan(year), len(fit.date_years) - 1, dated)


def _by_group(ratio: Floats, departing: Floats, share: float, of: Ints, groups: int) -> Floats:
    """Groups x STEPS: log likelihood of each departure, whatever share of other coins the
    group holds."""
    parts = []
    for other, prior in zip(_OTHER_SHARES, _OTHER_PRIOR, strict=True):
        part = max(other, share)
        log_each = np.log(np.maximum((1 - part) * ratio + part * departing[:, None], 1e-300))
        total = np.zeros((groups, len(STEPS)))
        np.add.at(total, of, log_each)
        parts.append(total + np.log(prior))
    return np.asarray(logsumexp(np.stack(parts), axis=0))


def pooled_groups(names: Sequence[str], coins: Floats, log_likelihood: Floats) -> GroupLevels:
    """The departures of groups from their own log likelihoods (groups x STEPS).

    A share of the groups departs by a factor whose logarithm is normal about nought, the
    others not at all; share and spread are averaged over by their evidence, and so is
    whether any departs (even odds before the lot is seen).
    """
    priors = np.stack([_prior(share, spread) for share in _SHARES for spread in _SPREADS])
    log_prior = np.log(np.maximum(priors, 1e-300))
    joint = log_likelihood[None, :, :] + log_prior[:, None, :]  # priors x groups x STEPS
    each = logsumexp(joint, axis=2)
    evidence = each.sum(axis=1)
    log_evidence = float(logsumexp(evidence) - np.log(len(priors)))
    log_evidence -= float(log_likelihood[:, STEPS == 0].sum())
    some = float(expit(log_evidence))
    weight = some * np.exp(evidence - logsumexp(evidence))
    none = (1 - some) * (STEPS == 0)
    posterior = np.einsum("p,pgs->gs", weight, np.exp(joint - each[:, :, None])) + none
    return GroupLevels(tuple(names), coins, posterior, weight @ priors + none, log_evidence)


def _prior(share: float, spread: float) -> Floats:
    normal = np.exp(-0.5 * np.square(grid.STEP * STEPS / spread))
    at_date: Bools = STEPS == 0
    return np.asarray((1 - share) * at_date + share * normal / normal.sum())
