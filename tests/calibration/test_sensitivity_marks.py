"""How often findings are marked as moving, and whether the mark means something.

Invented lots with seeds, in four worlds of wear: small ones (coins left out one by one),
loose ones (fifths) and rolls; honest, with a tenth of clear kinds, with a tenth of kinds
near honest wear. Shares with exact binomial 95 % intervals (Clopper and Pearson, Biometrika
26, 1934). The limit is 1 in 100, so that honest coins are set aside at all. Run with
``-m calibration -s`` to see the figures.
"""

from __future__ import annotations

from collections import Counter
from functools import cache

import numpy as np
import pandas as pd
import pytest
from scipy.stats import binomtest, fisher_exact

from lotscreen.evidence import judge
from lotscreen.instruments import instruments_of
from lotscreen.intake import read_frame
from lotscreen.records import FLAGGED
from lotscreen.sensitivity import Judged, judged_again
from lotscreen.settings import ALARMS_PER_LIMIT, Settings
from lotscreen.simulate import CoinSpec, KindCount, LotSpec, Wear, draw_lot
from lotscreen.simulate.worlds import WORLDS
from lotscreen.standards import load_standards
from lotscreen.summary import summarise
from lotscreen.wear import fit
from lotscreen.wear.fit import with_types

pytestmark = pytest.mark.calibration

STANDARDS = load_standards()
SETTINGS = Settings(limit=0.01)
SHAPES = {"one by one": (40, 0), "fifths": (120, 0), "rolls": (160, 20)}
KINDS = {
    "honest": (),
    "clear": ("brass, right size", "pewter, right size"),
    "near honest": ("light alloy", "clipped"),
}
SEEDS = (0, 1, 2, 3)


def _lot(shape: str, kinds: str, world: str, seed: int) -> pd.DataFrame:
    """Each coin's truth, finding, and whether it is marked."""
    count, roll = SHAPES[shape]
    each = count // 20
    halves = CoinSpec(
        STANDARDS.get("us-half-1873"), "US half dollar", count, tuple(range(1920, 1960)), 1965,
        Wear(world, 0.38), tuple(KindCount(kind, each) for kind in KINDS[kinds]),
    )  # fmt: skip
    place = [*WORLDS].index(world) + 10 * [*SHAPES].index(shape) + 100 * [*KINDS].index(kinds)
    drawn = draw_lot(LotSpec((halves,), roll_size=roll), 7000 + 1000 * seed + place)
    intake = read_frame(drawn.sheet)
    instruments = instruments_of(intake.readings, SETTINGS)
    table = with_types(summarise(intake.items, intake.readings, instruments), STANDARDS)
    made = fit(table, STANDARDS, SETTINGS, 0)
    found = judge(table, made, SETTINGS)
    told = judged_again(Judged(table, made, found, found), SETTINGS)
    return pd.DataFrame({
        "shape": shape, "kinds": kinds, "honest": drawn.key["true_kind"].to_numpy() == "honest",
        "finding": found.finding, "marked": [item in told.moves for item in table.item_id],
        "ways": [",".join(m.way for m in told.moves.get(i, ())) for i in table.item_id],
    })  # fmt: skip


@cache
def _all() -> pd.DataFrame:
    return pd.concat([
        _lot(shape, kinds, world, seed)
        for seed in SEEDS for kinds in KINDS for shape in SHAPES for world in WORLDS
    ])  # fmt: skip


def _share(name: str, rows: np.ndarray) -> tuple[float, float]:
    """Print a share with its interval, and give the interval."""
    interval = binomtest(int(rows.sum()), max(len(rows), 1)).proportion_ci(method="exact")
    low, high = (interval.low, interval.high) if len(rows) else (0.0, 1.0)
    print(f"{name}: {rows.sum()} of {len(rows)} ({100 * low:.2f}-{100 * high:.2f} %)")
    return low, high


def test_few_coins_of_honest_lots_are_marked() -> None:
    coins = _all()[_all()["kinds"] == "honest"]
    for shape in SHAPES:
        own = coins[coins["shape"] == shape]
        low, _ = _share(f"honest lots, {shape}, coins marked", own["marked"].to_numpy())
        # no more coins of honest lots are marked than may be set aside
        assert low <= ALARMS_PER_LIMIT * SETTINGS.limit
    print(Counter(coins["ways"]))


def test_findings_of_clear_kinds_are_firm() -> None:
    clear = _all()[_all()["kinds"] == "clear"]
    found = clear[~clear["honest"] & clear["finding"].isin(FLAGGED)]
    _share("clear kinds, set aside or not consistent at all",
           clear.loc[~clear["honest"], "finding"].isin(FLAGGED).to_numpy())  # fmt: skip
    low, _ = _share("of them marked", found["marked"].to_numpy())
    _share("all findings marked in lots with clear kinds",
           clear.loc[clear["finding"].isin(FLAGGED), "marked"].to_numpy())  # fmt: skip
    assert low <= 0.05


def test_marked_set_asides_are_honest_more_often() -> None:
    found = _all()[_all()["finding"].isin(FLAGGED)]
    marked, firm = found[found["marked"]], found[~found["marked"]]
    print(Counter(marked["ways"]))
    _share("honest among marked set-asides", marked["honest"].to_numpy())
    _share("honest among unmarked set-asides", firm["honest"].to_numpy())
    counts = [[int(one["honest"].sum()), int((~one["honest"]).sum())] for one in (marked, firm)]
    rate = fisher_exact(counts, alternative="greater").pvalue
    print(f"as many honest ones among the marked by chance: {rate:.4f}")
    assert rate <= 0.05
    to_aside = found[found["marked"] & (found["finding"] == "set aside")]
    _share("honest among marked *set aside*", to_aside["honest"].to_numpy())
    unmarked = found[~found["marked"] & (found["finding"] == "set aside")]
    _share("honest among unmarked *set aside*", unmarked["honest"].to_numpy())
