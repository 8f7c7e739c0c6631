"""The real lot among honest ones drawn from the ``Fit``: can one tell which it is?

If the fit is right nobody can, but for the coins that stand apart. (Buja and others,
Philosophical Transactions of the Royal Society A 367, 2009, call it a line-up.)
"""

from __future__ import annotations

import numpy as np

from lotscreen.display import Parade
from lotscreen.records import Floats, ItemTable
from lotscreen.wear import TypeFit
from lotscreen.wear.predict import predictor
from lotscreen.wear.standing import distinct_standings

OTHERS = 19
_BARS = 26
_SHOWN = (0.002, 0.998)
_MOST_COINS = 5000  # more say no more to the eye
_STEP_G = 0.01


def parade(coins: ItemTable, fit: TypeFit) -> Parade:
    """Counts of weights of ``coins`` (one type, all with a weight) and of :data:`OTHERS` lots
    of as many honest coins of the same dates, on one grid of bars; the real one stands at a
    place drawn, like the others, from a seed that the readings themselves give."""
    if len(coins) > _MOST_COINS:
        coins = coins.rows(np.linspace(0, len(coins) - 1, _MOST_COINS).astype(np.int64))
    step = float(np.nan_to_num(np.median(coins.weight_step_g), nan=_STEP_G)) or _STEP_G
    rng = np.random.default_rng([len(coins), int(np.rint(coins.weight_g.sum() / _STEP_G))])
    real = int(rng.integers(OTHERS + 1))
    drawn = _honest_lots(coins, fit, step, rng)
    lots = np.insert(drawn, real, coins.weight_g, axis=0)
    edges = _edges(drawn, step)
    shown = np.clip(lots, edges[0] + 1e-9, edges[-1] - 1e-9)
    counts = np.array([np.histogram(lot, edges)[0] for lot in shown])
    return Parade(edges, counts, real)


def _honest_lots(coins: ItemTable, fit: TypeFit, step: float, rng: np.random.Generator) -> Floats:
    """Weights of :data:`OTHERS` lots (lots x coins): each coin drawn where it stands, read
    on the same balance."""
    tables, u_g = predictor(fit), float(np.median(coins.weight_u_g))
    lots = np.empty((OTHERS, len(coins)))
    known, which = distinct_standings(coins, fit)
    for k in sorted(range(len(known)), key=lambda k: known[k]):
        at = which == k
        share = rng.random((OTHERS, int(at.sum())))
        lots[:, at] = tables.reading_quantiles(known[k], u_g, share.ravel()).reshape(share.shape)
    return np.asarray(np.round(lots / step) * step)


def _edges(drawn: Floats, step: float) -> Floats:
    """Bars of one width, a whole number of steps; coins beyond stand in the end bars."""
    low, high = np.quantile(drawn, _SHOWN)
    width = max(1, int(np.ceil((high - low) / _BARS / step))) * step
    first = (np.floor(low / step) - 0.5) * step
    return np.asarray(first + width * np.arange(int(np.ceil((high - first) / width)) + 1))
