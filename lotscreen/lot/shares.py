"""How many of the coins set aside are probably honest."""

from __future__ import annotations

import numpy as np
from scipy.special import expit
from scipy.stats import false_discovery_control

from lotscreen.records import Bools, Floats

_START = 0.02


def share_not_honest(log10_lr: Floats) -> float:
    """Share of coins that the departures explain, by maximum likelihood over the coins'
    own likelihood ratios (1-D, departures against honest)."""
    known = log10_lr[np.isfinite(log10_lr)] * np.log(10)
    share = _START
    if not len(known):
        return 0.0
    for _ in range(200):
        new = float(np.mean(expit(known + np.log(share / (1 - share)))))
        new = min(max(new, 1e-6), 1 - 1e-6)
        if abs(new - share) < 1e-9:
            break
        share = new
    return share


def expected_honest(log10_lr: Floats, flagged: Bools) -> float:
    """Expected number of honest coins among the ``flagged``, from each coin's likelihood
    ratio and the lot's own share of coins not honest."""
    if not flagged.any():
        return 0.0
    share = share_not_honest(log10_lr)
    log_odds = log10_lr[flagged] * np.log(10) + np.log(share / (1 - share))
    return float(np.sum(expit(-np.nan_to_num(log_odds))))


def honest_chances(log10_lr: Floats) -> Floats:
    """Chance of each coin to be honest (n,), from its likelihood ratio and the lot's own
    share of coins not honest; one where nothing speaks against it."""
    share = min(max(share_not_honest(log10_lr), 1e-6), 1 - 1e-6)
    log_odds = log10_lr * np.log(10) + np.log(share / (1 - share))
    return np.asarray(expit(-np.nan_to_num(log_odds, nan=-np.inf)))


def q_values(p_value: Floats) -> Floats:
    """The q-value of each coin (n,): the least share of honest coins, on average, among all
    coins as rare as it or rarer, were they set aside (Benjamini and Hochberg, Journal of
    the Royal Statistical Society B 57, 1995). NaN where there is no p-value."""
    result = np.full(len(p_value), np.nan)
    known = np.isfinite(p_value)
    if known.any():
        result[known] = false_discovery_control(np.clip(p_value[known], 0.0, 1.0))
    return result
