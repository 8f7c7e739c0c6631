"""Two parcels, one mould: dollars of two consignors, seven casts of one coin among them,
written down on the Continent."""

from __future__ import annotations

import pandas as pd

from lotscreen.simulate.draw import draw_lot
from lotscreen.simulate.samples.files import SampleLot, cells, csv_bytes, key_bytes
from lotscreen.simulate.specs import CoinSpec, KindCount, LotSpec, Wear
from lotscreen.standards import StandardsTable
from lotscreen.words import say

_SEED = 20260103
_CONSIGNORS = ("K-01", "K-02")
_COINS_EACH = 60
_HEADERS = ["Lot", "Sub", "Beschreibung", "Jahr", "Gewicht", "Durchm.", "Dicke"]
_DITTO = ('"', "do.")
_FULL_WORD_EVERY = 20


def two_parcels(standards: StandardsTable) -> SampleLot:
    """Semicolons, comma decimals, ditto marks, mint marks; the lot is the consignor."""
    spec = LotSpec(
        coins=(
            CoinSpec(
                coin_type=standards.get("us-dollar-1840"),
                type_text="Silberdollar USA",
                count=_COINS_EACH * len(_CONSIGNORS),
                years=tuple(range(1878, 1905)),
                in_use_until=1925,
                wear=Wear("lognormal", depth_um_per_year=0.35),
                kinds=(
                    KindCount("cast, one mould", 4, stop=0.5),
                    KindCount("cast, one mould", 3, start=0.5),
                ),
                mint_marks=("", "O", "S", "CC"),
            ),
        ),
        shuffled=False,
        slip_rate=0.005,
    )
    lot = draw_lot(spec, _SEED)
    rows = [[say("simulate.title_parcels")], [], _HEADERS, *_rows(lot.sheet)]
    return SampleLot(
        file_name="two_parcels.csv",
        sheet=csv_bytes(rows, separator=";"),
        key_name="two_parcels_key.csv",
        key=key_bytes(lot.key),
    )


def _rows(sheet: pd.DataFrame) -> list[list[str]]:
    rows = []
    columns = ("coin_id", "type", "date", "weight_g", "diameter_mm", "thickness_mm")
    for place, (number, words, date, *measured) in enumerate(cells(sheet, *columns)):
        consignor = place // _COINS_EACH
        described = _DITTO[consignor] if place % _FULL_WORD_EVERY else words
        numbers = [cell.replace(".", ",") for cell in measured]
        rows.append([_CONSIGNORS[consignor], number, described, date, *numbers])
    return rows
