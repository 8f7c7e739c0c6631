"""Slips that strike neighbouring rows together: columns exchanged for nine rows, another
unit for ten, a holder that was not tared.

One row read so is weighed as a slip of its own in :mod:`lotscreen.evidence.slips`. Several in
a row support each other: a chain over the coins in the order of the sheet says how likely each
stands in such a block (hidden Markov model, forward and backward sums: Rabiner, Proceedings of
the IEEE 77, 1989). Against each block stand all explanations of single coins. A run of coins
that are all off by just the factor of a unit is to be measured again for that reason too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import logsumexp

from lotscreen.evidence.block_faults import FAULTS, NOT_TARED, log_offset_rate
from lotscreen.evidence.readings import departures
from lotscreen.evidence.slips import SLIP_KEYS, SlipEvidence, log_honest
from lotscreen.evidence.weigh import COLUMNS, slip_coin, weigh
from lotscreen.evidence.wording import explain, next_test, ranked
from lotscreen.records import FindingKind, Findings, Floats, Ints, ItemTable
from lotscreen.settings import Settings
from lotscreen.wear import Fit, TypeFit
from lotscreen.wear.fit import unfitted
from lotscreen.words import say

_GROSS_Z = 4.0
_FEWEST = 3  # rows of a block; fewer are slips of their own
_HOPELESS = -60.0
_BEGINS = 0.1  # blocks that begin at a row, as a share of the rate of wrong cells
_GOES_ON = 0.9  # ten rows on the average
_NEVER = -1e4
_TARE = len(FAULTS) + 1
_STATES = len(FAULTS) + 2  # none, the faults, not tared
