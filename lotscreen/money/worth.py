"""What a coin is worth as metal, by what it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from lotscreen.evidence.slips import SLIP_KEYS
from lotscreen.quantities import TROY_OUNCE_G
from lotscreen.records import Bools, FindingKind, Findings, Floats, ItemTable, Texts
from lotscreen.second_tests.explained import Explained
from lotscreen.standards import CoinType

_MOST_OVER = 1.003


@dataclass(frozen=True, slots=True)
class CoinsWorth:
    """The coins of one type in fine troy ounces of the type's fine ``metal`` (n coins, h
    hypotheses): ``claimed_oz`` (n,) as said to be, ``true_oz`` (n x h) by what they are.
    ``flagged`` marks coins set aside or not consistent. ``coins`` are their shares."""

    coin_type: CoinType
    metal: str
    coins: Explained
    claimed_oz: Floats
    true_oz: Floats
    flagged: Bools

    def kept(self) -> Floats:
        """Value as a share of what is claimed (n x h)."""
        return np.asarray(self.true_oz / np.maximum(self.claimed_oz, 1e-12)[:, None])


def coins_worth(
    coins: Mapping[str, Explained], table: ItemTable, findings: Findings,
    types: Mapping[str, CoinType],
) -> tuple[CoinsWorth, ...]:  # fmt: skip
    """The types that have a fine metal, most coins first; other types are worth nothing
    here. A coin whose weight is likelier a slip is taken at what the slip stands for, at most
    at its standard."""
    found = [
        _of_type(types[key], own, table, findings)
        for key, own in coins.items()
        if types[key].fine_metal is not None and types[key].fineness is not None
    ]
    return tuple(sorted(found, key=lambda w: (-len(w.claimed_oz), w.coin_type.key)))


def _of_type(
    coin_type: CoinType, coins: Explained, table: ItemTable, findings: Findings
) -> CoinsWorth:
    metal = str(coin_type.fine_metal)
    fineness = float(coin_type.fineness or 0.0)
    finding: Texts = findings.finding[coins.rows]
    weight = _weight_claimed(coin_type, coins, table.weight_g[coins.rows], finding)
    claimed = weight * fineness / TROY_OUNCE_G
    keeps = np.array([h.keeps * h.metal.fine.get(metal, 0.0) for h in coins.hypotheses])
    read = np.where(finding == FindingKind.RE_MEASURE, weight, table.weight_g[coins.rows])
    true = read[:, None] * keeps[None, :] / TROY_OUNCE_G
    slips = np.array([h.mechanism in SLIP_KEYS for h in coins.hypotheses])
    stands_for = np.where(np.isfinite(coins.slip_g), coins.slip_g, weight)
    most = coin_type.weight_g * _MOST_OVER
    stands_for = np.minimum(stands_for, most)
    true = np.where(slips[None, :], stands_for[:, None] * fineness / TROY_OUNCE_G, true)
    flagged = np.isin(finding, [FindingKind.SET_ASIDE, FindingKind.NOT_CONSISTENT])
    return CoinsWorth(coin_type, metal, coins, claimed, true, flagged)


def _weight_claimed(
    coin_type: CoinType, coins: Explained, weight_g: Floats, finding: Texts
) -> Floats:
    """The weight that is paid for if a coin is as it is said to be."""
    most = coin_type.weight_g * _MOST_OVER
    again = finding == FindingKind.RE_MEASURE
    meant = np.where(np.isfinite(coins.slip_g), coins.slip_g, weight_g)
    return np.asarray(np.where(again, np.minimum(meant, most), weight_g))


def kept_by_explanation(worth: CoinsWorth) -> dict[str, float]:
    """The share of its melt that a typical coin of the type keeps, by explanation, weighted
    by the metals that this lot's coins leave to each."""
    kept = worth.kept()
    weight = worth.coins.shares
    found: dict[str, list[float]] = {}
    for place, hypothesis in enumerate(worth.coins.hypotheses):
        total = found.setdefault(hypothesis.mechanism, [0.0, 0.0])
        total[0] += float(weight[:, place] @ kept[:, place])
        total[1] += float(weight[:, place].sum())
    return {key: value / total if total > 0 else np.nan for key, (value, total) in found.items()}
