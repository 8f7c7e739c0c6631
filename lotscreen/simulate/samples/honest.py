"""The control set: 1,000 halves and quarters, none of them anything else."""

from __future__ import annotations

from lotscreen.simulate.draw import draw_lot
from lotscreen.simulate.samples.dates import late_dated
from lotscreen.simulate.samples.files import SampleLot, csv_bytes, frame_rows, key_bytes
from lotscreen.simulate.specs import CoinSpec, LotSpec, Wear
from lotscreen.standards import StandardsTable

_SEED = 20260101
_COINS_OF_EACH = 500
_IN_USE_UNTIL = 1965
_HALF_DESIGNS = (1916, 1948, 1964)
_QUARTER_DESIGNS = (1916, 1932)


def all_honest(standards: StandardsTable) -> SampleLot:
    """Headers a screen understands without a question, no slip and no odd cell."""
    spec = LotSpec(
        coins=(
            CoinSpec(
                coin_type=standards.get("us-half-1873"),
                type_text="US half dollar",
                count=_COINS_OF_EACH,
                years=late_dated(1892, 1964),
                in_use_until=_IN_USE_UNTIL,
                wear=Wear("gamma", depth_um_per_year=0.8, growth=0.8),
                designs=_HALF_DESIGNS,
            ),
            CoinSpec(
                coin_type=standards.get("us-quarter-1873"),
                type_text="US quarter dollar",
                count=_COINS_OF_EACH,
                years=late_dated(1892, 1964),
                in_use_until=_IN_USE_UNTIL,
                wear=Wear("gamma", depth_um_per_year=1.0, growth=0.8),
                designs=_QUARTER_DESIGNS,
            ),
        ),
    )
    lot = draw_lot(spec, _SEED)
    lot.sheet["coin_id"] = lot.key["coin_id"] = "inv-" + lot.sheet["coin_id"].str.zfill(4)
    return SampleLot(
        file_name="all_honest.csv",
        sheet=csv_bytes(frame_rows(lot.sheet)),
        key_name="all_honest_key.csv",
        key=key_bytes(lot.key),
    )
