"""One coin after another, judged by a frozen fit, into the state of a sampling plan."""

from __future__ import annotations

import numpy as np

from lotscreen.evidence import judge
from lotscreen.records import ItemTable
from lotscreen.sequential.stopping import StopState, after_coins, as_counted
from lotscreen.settings import Settings
from lotscreen.wear import Fit


def after_coin(state: StopState, coin: ItemTable, fit: Fit, settings: Settings) -> StopState:
    """The state after the next coin of the draw (``coin``: one row), judged by ``fit``
    alone: no other coin of the draw has any say in its finding. A coin whose readings
    are suspended counts as unsettled."""
    set_aside, unsettled = as_counted(judge(coin, fit, settings).finding)
    return after_coins(state, set_aside, unsettled | np.asarray(coin.suspended, np.bool_))
