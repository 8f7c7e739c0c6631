"""Clip and file: old silver of which metal was taken from the edge.

Lesson: the direction of a departure. A clipped piece is short across one way, a filed one
across every way, a plugged one departs little, and a worn one is thin all over.
"""

from __future__ import annotations

import numpy as np

from lotscreen.simulate.draw import draw_lot
from lotscreen.simulate.samples.files import SampleLot, cells, csv_bytes, key_bytes
from lotscreen.simulate.specs import CoinSpec, KindCount, LotSpec, Wear
from lotscreen.standards import StandardsTable
from lotscreen.words import say

_SEED = 20260107
_HEADERS = ["No", "Description", "Date", "Wt g", "D min", "D max", "Thickness", "Remark"]
_NOT_MEASURED = ("n/a", "–", "n/a", "–", "illeg.")


def clip_and_file(standards: StandardsTable) -> SampleLot:
    """Least and greatest diameter of each piece; five pieces have none."""
    lot = draw_lot(_spec(standards), _SEED)
    columns = (
        "coin_id", "type", "date", "weight_g", "diameter_min_mm", "diameter_max_mm",
        "thickness_mm",
    )  # fmt: skip
    rng = np.random.default_rng(np.random.SeedSequence(_SEED).spawn(1)[0])
    honest = np.flatnonzero(lot.key["true_kind"] == "honest")
    unmeasured = dict(zip(rng.choice(honest, 5, replace=False), _NOT_MEASURED, strict=True))
    rows = [[say("simulate.title_clip")], [], _HEADERS]
    for place, (*named, weight, least, most, thick) in enumerate(cells(lot.sheet, *columns)):
        word = unmeasured.get(place, "")
        lengths = [word, word] if word else [least, most]
        plugged = lot.key["true_kind"].iloc[place] == "plugged"
        remark = "holed and plugged" if plugged and place % 2 else ""
        rows.append([*named, weight, *lengths, thick, remark])
    return SampleLot(
        file_name="clip_and_file.csv",
        sheet=csv_bytes(rows),
        key_name="clip_and_file_key.csv",
        key=key_bytes(lot.key),
    )


def _spec(standards: StandardsTable) -> LotSpec:
    def of(
        key: str, words: str, count: int, years: range, kinds: tuple[KindCount, ...]
    ) -> CoinSpec:
        return CoinSpec(
            coin_type=standards.get(key),
            type_text=words,
            count=count,
            years=tuple(years),
            in_use_until=1860,
            wear=Wear("gamma", depth_um_per_year=0.7, growth=0.8),
            kinds=kinds,
        )

    return LotSpec(
        coins=(
            of("us-half-1794", "US half dollar", 33, range(1796, 1837),
               (KindCount("clipped", 2), KindCount("filed", 2), KindCount("plugged", 3))),
            of("uk-half-crown-1816", "UK half crown", 22, range(1816, 1851),
               (KindCount("clipped", 2), KindCount("filed", 1), KindCount("plugged", 1))),
            of("uk-shilling-1816", "UK shilling", 30, range(1816, 1856),
               (KindCount("clipped", 1), KindCount("filed", 1), KindCount("plugged", 2))),
        ),
        min_max=True,
    )  # fmt: skip
