"""Which coins could be found otherwise by a fit that differs a little.

A fit without one coin, without a fifth of the coins drawn across the lot or with another
wear allowance moves rates by a small factor, so coins far from every line need none. How
far is far was read off invented lots of 1 to 300 coins; a test compares with judging all.
(A fit without a whole roll may move any coin of the roll: all are judged.)
"""

from __future__ import annotations

import numpy as np

from lotscreen.evidence.mechanisms import HONEST_KEYS
from lotscreen.evidence.slips import SLIP_KEYS
from lotscreen.records import Bools, FindingKind, Findings, Floats, ItemTable
from lotscreen.settings import Settings

_ABOVE_LIMIT = 20.0  # times the limit; of 6,000 coins above it no rate fell tenfold
_BEYOND = 1e-6  # times the limit
_FAR_Z = 8.0
_SPEAKS_CLEARLY_Z = 3.6  # a reading speaks beyond 2.6
_NO_SHARE = 0.005  # a tenth of what an honest explanation may keep


def could_move(table: ItemTable, findings: Findings, settings: Settings) -> Bools:
    """Coins with a rate within twenty limits, but those that are clear: far off in weight or
    size, and what makes them *set aside* or *not consistent* is far from its line too."""
    near = np.nan_to_num(findings.p_value, nan=1.0) <= _ABOVE_LIMIT * settings.limit
    return np.asarray(near & ~_clear(table, findings, settings), dtype=np.bool_)


def _clear(table: ItemTable, findings: Findings, settings: Settings) -> Bools:
    z = np.abs(np.column_stack([findings.z_weight, findings.z_diameter, findings.z_thickness]))
    far = findings.p_value <= _BEYOND * settings.limit
    far &= np.nan_to_num(z).max(axis=1) >= _FAR_Z
    far &= _share(findings, frozenset(SLIP_KEYS)) <= _NO_SHARE
    shown_twice = (np.nan_to_num(z) >= _SPEAKS_CLEARLY_Z).sum(axis=1) >= 2
    shown_twice &= _share(findings, HONEST_KEYS) <= _NO_SHARE
    only_weighed_once = (np.isfinite(z).sum(axis=1) == 1) & (table.weight_n == 1)
    strictest = findings.finding == FindingKind.NOT_CONSISTENT
    return np.asarray(far & np.where(strictest, shown_twice, only_weighed_once), dtype=np.bool_)


def _share(findings: Findings, keys: frozenset[str]) -> Floats:
    columns = [key in keys for key in findings.mechanisms]
    return np.asarray(findings.shares[:, columns].sum(axis=1))
