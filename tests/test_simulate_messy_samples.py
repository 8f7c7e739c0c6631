"""The sample lots with the mess of real sheets have what their page says, and are read."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from lotscreen.intake import ReadOptions, UnitUnknownError, read_sheets
from lotscreen.quantities import GRAIN_G
from lotscreen.records import Intake
from lotscreen.simulate import CoinSpec, LotSpec, Wear, draw_lot
from lotscreen.simulate.spoiling import KINDS_OF_SLIP, Block, swapped_block, unit_block, with_slips
from lotscreen.standards import load_standards

SAMPLES = Path(__file__).parent.parent / "sample_lots"


def read(name: str, unit: str | None = None) -> tuple[Intake, pd.DataFrame]:
    """The intake of a sample and its key, whose rows are the coins of the sheet."""
    intake = read_sheets([SAMPLES / name], ReadOptions(weight_unit=unit))
    key = pd.read_csv(
        SAMPLES / "keys" / f"{name.partition('.')[0]}_key.csv",
        dtype={"coin_id": str},
        keep_default_na=False,
    )
    assert intake.items["coin_id"].tolist() == key["coin_id"].tolist()
    assert intake.rows_read == len(intake.items) + len(intake.left_out)
    return intake, key


def weights(intake: Intake) -> np.ndarray:
    rows = intake.readings[intake.readings["quantity"] == "weight"]
    return rows.set_index("item_id")["value"].reindex(intake.items["item_id"]).to_numpy(float)


def test_the_tin_box_asks_for_its_unit_and_changes_it_part_way() -> None:
    with pytest.raises(UnitUnknownError, match="gram or grain"):
        read("tin_box.xlsx")
    intake, key = read("tin_box.xlsx", "grain")
    assert Counter(intake.items["type_text"]) == {"Sovereign": 48, "Half-sovereign": 11}
    in_grams = key["injected_fault"] == "unit: g"
    assert in_grams[in_grams].index.tolist() == list(range(30, 40))
    shown = np.where(in_grams, weights(intake) / GRAIN_G, weights(intake))
    assert shown == pytest.approx(key["true_weight_g"], abs=0.02)


def test_nine_honest_sovereigns_lie_below_the_least_current_weight() -> None:
    intake, key = read("tin_box.xlsx", "grain")
    least = load_standards().get("uk-sovereign-1817").least_current_g
    honest = (key["true_kind"] == "honest") & (intake.items["type_text"] == "Sovereign")
    assert (key.loc[honest, "true_weight_g"] < least).sum() == 9
    tungsten = key["true_kind"] == "tungsten alloy, right weight"
    assert key.loc[tungsten, "true_weight_g"].item() == pytest.approx(7.95, abs=0.06)


def test_the_wrong_planchets_are_honest_coins_of_another_weight() -> None:
    intake, key = read("wrong_planchet.csv")
    weight = dict(zip(key["true_kind"], weights(intake), strict=True))
    assert weight["on a quarter's planchet"] == pytest.approx(6.2, abs=0.1)
    assert weight["on a cent's planchet"] == pytest.approx(3.1, abs=0.05)
    assert weight["trade dollar"] == pytest.approx(27.1, abs=0.2)
    assert intake.items["type_text"].nunique() == 37
    assert set(intake.left_out["raw"]) >= {"UNITED STATES", "THE CONTINENT"}
    marks = set(intake.items["mint_mark"]) - {""}
    assert marks == {"S", "CC", "O"}
    assert [d.raw for d in intake.doubts if d.kind == "date"] == ["18871"]
    assert "1991" in set(intake.items["date_text"])


def test_the_street_parcel_has_its_blocks_and_true_subtotals() -> None:
    intake, key = read("crown_size.xlsx")
    faults = Counter(key["injected_fault"])
    assert faults["columns swapped"] == 9
    assert sum(n for fault, n in faults.items() if "unit: dwt" in fault) == 26
    swapped = np.flatnonzero(key["injected_fault"] == "columns swapped")
    assert np.ptp(swapped) == 8
    assert intake.items["type_text"].nunique() == 5
    assert [d for d in intake.doubts if d.kind == "total"] == []
    table = load_standards()
    on_file = {text for text in intake.items["type_text"] if table.resolve(text, 1890).key}
    assert set(intake.items["type_text"]) - on_file >= {"THALERS OF OZ"}


def test_clipped_pieces_are_short_one_way_and_filed_ones_every_way() -> None:
    intake, key = read("clip_and_file.csv")
    lengths = intake.readings.pivot_table(index="item_id", columns="quantity", values="value")
    lengths = lengths.reindex(intake.items["item_id"]).reset_index(drop=True)
    short = lengths["diameter_max"] - lengths["diameter_min"]
    assert (short[key["true_kind"] == "clipped"] > 0.9).all()
    assert (short[key["true_kind"] == "filed"] < 0.2).all()
    assert short.isna().sum() == 5


def _lot(coins: int = 400, seed: int = 3) -> object:
    half = load_standards().get("us-half-1873")
    spec = CoinSpec(half, "US half dollar", coins, tuple(range(1892, 1940)), 1960,
                    Wear("gamma", depth_um_per_year=0.6))  # fmt: skip
    return draw_lot(LotSpec((spec,)), seed)


def test_known_slips_strike_the_share_asked_for_in_equal_parts() -> None:
    lot = _lot(2000)
    spoilt = with_slips(lot, 0.03, seed=1)
    struck = spoilt.key[spoilt.key["injected_fault"] != ""]
    assert len(struck) == pytest.approx(0.03 * 3 * 2000, rel=0.2)
    counts = Counter(struck["injected_fault"])
    assert set(counts) == set(KINDS_OF_SLIP)
    assert min(counts.values()) > 0.7 * max(counts.values())
    for row in struck.index:
        columns = struck.loc[row, "fault_cell"].split("; ")
        right = struck.loc[row, "right_cell"].split("; ")
        assert lot.sheet.loc[row, columns].tolist() == right
        assert spoilt.sheet.loc[row, columns].tolist() != right
    untouched = spoilt.key.index.difference(struck.index)
    pd.testing.assert_frame_equal(spoilt.sheet.loc[untouched], lot.sheet.loc[untouched])


def test_blocks_strike_their_rows_and_no_others() -> None:
    lot, before = _lot(60), _lot(60)
    unit_block(lot, Block(10, 19), "dwt")
    swapped_block(lot, Block(30, 38), "diameter_mm", "thickness_mm")
    changed = (lot.sheet != before.sheet).any(axis=1)
    assert np.flatnonzero(changed).tolist() == [*range(10, 20), *range(30, 39)]
    assert lot.sheet.loc[30, "diameter_mm"] == before.sheet.loc[30, "thickness_mm"]
    grams = lot.sheet.loc[10:19, "weight_g"].astype(float) * 24 * GRAIN_G
    assert grams.to_numpy() == pytest.approx(
        before.sheet.loc[10:19, "weight_g"].astype(float).to_numpy(), abs=0.01
    )
