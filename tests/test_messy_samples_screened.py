"""What the screen makes of the four sample lots with the mess of real sheets, by their keys.

How often honest coins are set aside is counted on many lots elsewhere; here each planted coin
and each faulty block is looked for by itself.
"""

from __future__ import annotations

from collections import Counter
from functools import lru_cache
from pathlib import Path

import pandas as pd
import pytest

import lotscreen
from lotscreen.intake import ReadOptions

SAMPLES = Path(__file__).parent.parent / "sample_lots"
PULLED = ("set aside", "not consistent")


@lru_cache(maxsize=4)
def findings(name: str, unit: str | None = None) -> pd.DataFrame:
    """The key of a sample beside the finding and the reason of each coin."""
    result = lotscreen.screen(SAMPLES / name, read_options=ReadOptions(weight_unit=unit))
    key = pd.read_csv(
        SAMPLES / "keys" / f"{name.partition('.')[0]}_key.csv",
        dtype={"coin_id": str}, keep_default_na=False,
    )  # fmt: skip
    assert result.intake.items["coin_id"].tolist() == key["coin_id"].tolist()
    return key.assign(finding=result.findings.finding, reason=result.findings.reason)


def found(coins: pd.DataFrame, kind: str, fault: str = "") -> Counter[str]:
    of_kind = (coins["true_kind"] == kind) & (coins["injected_fault"] == fault)
    return Counter(coins.loc[of_kind, "finding"])


@pytest.mark.slow
def test_the_tin_box_has_its_grams_found_and_its_nine_carat_pulled() -> None:
    coins = findings("tin_box.xlsx", "grain")
    assert found(coins, "honest", "unit: g") == {"re-measure": 10}
    assert found(coins, "nine carat, right size") == {"not consistent": 2}
    assert found(coins, "honest") == {"consistent": 43}
    # Outside what weight, diameter and thickness can see, as the README says.
    assert found(coins, "tungsten alloy, right weight") == {"consistent": 1}
    grams = coins.loc[coins["injected_fault"] == "unit: g", "reason"]
    assert grams.str.contains("10 coins in a row").all()


@pytest.mark.slow  # forty-three types are fitted
def test_the_wrong_planchets_and_trade_dollars_are_found_among_types_alone() -> None:
    coins = findings("wrong_planchet.csv")
    assert found(coins, "on a cent's planchet")["consistent"] == 0
    assert found(coins, "on a quarter's planchet")["consistent"] == 0
    trade = coins[coins["true_kind"] == "trade dollar"]
    assert set(trade["finding"]) <= set(PULLED)
    assert found(coins, "honest")["consistent"] >= 190


@pytest.mark.slow
def test_the_street_parcel_has_its_blocks_found_and_its_thalers_not_judged() -> None:
    coins = findings("crown_size.xlsx")
    assert found(coins, "honest", "unit: dwt") == {"re-measure": 25}
    assert found(coins, "honest", "columns swapped") == {"re-measure": 9}
    assert found(coins, "honest")["not judged"] == 12
    for kind in ("brass, right size", "lead alloy, right size"):
        assert set(found(coins, kind)) <= set(PULLED)
    # The cast stands in the pennyweights: it is judged when it has been weighed again.
    assert found(coins, "cast", "unit: dwt") == {"re-measure": 1}


@pytest.mark.slow
def test_clipped_and_filed_pieces_are_pulled() -> None:
    coins = findings("clip_and_file.csv")
    assert set(found(coins, "clipped")) <= set(PULLED)
    assert set(found(coins, "filed")) <= set(PULLED)
    assert found(coins, "honest")["consistent"] >= 69
