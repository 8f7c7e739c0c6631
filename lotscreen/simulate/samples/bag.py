"""The salted bag: 4,000 shillings in the order they came out; the bottom third is not
like the top."""

from __future__ import annotations

from lotscreen.simulate.draw import draw_lot
from lotscreen.simulate.samples.dates import late_dated
from lotscreen.simulate.samples.files import SampleLot, cells, key_bytes
from lotscreen.simulate.samples.workbooks import Cell, ods_bytes
from lotscreen.simulate.specs import CoinSpec, KindCount, LotSpec, Wear
from lotscreen.standards import StandardsTable
from lotscreen.words import say

_SEED = 20260104
_COINS = 4000
_TOP_SHARE = 2.0 / 3.0
_OF_EACH_METAL = 60  # 9 % of the bottom third, half pewter, half brass


def salted_bag(standards: StandardsTable) -> SampleLot:
    """Weights only, as a buyer would take them."""
    spec = LotSpec(
        coins=(
            CoinSpec(
                coin_type=standards.get("uk-shilling-1816"),
                type_text="UK shilling",
                count=_COINS,
                years=late_dated(1902, 1910),
                in_use_until=1930,
                wear=Wear("gamma", depth_um_per_year=0.74),
                kinds=(
                    KindCount("pewter, right size", _OF_EACH_METAL, start=_TOP_SHARE),
                    KindCount("brass, right size", _OF_EACH_METAL, start=_TOP_SHARE),
                ),
            ),
        ),
        shuffled=False,
        slip_rate=0.004,
    )
    lot = draw_lot(spec, _SEED)
    rows: list[list[Cell]] = [
        [say("simulate.title_bag")],
        [],
        ["No", "Coin", "Date", "Weight (g)"],
    ]
    for number, words, year, weight in cells(lot.sheet, "coin_id", "type", "date", "weight_g"):
        rows.append([int(number), words, int(year), float(weight)])
    return SampleLot(
        file_name="salted_bag.ods",
        sheet=ods_bytes({"bag": rows}, decimals=2),
        key_name="salted_bag_key.csv",
        key=key_bytes(lot.key),
    )
