"""The scoring of known slips counts what it says it counts."""

from __future__ import annotations

import pandas as pd
import pytest
from slips import Scored, claims, leaves_range, proposals, scored, with_blocks, with_single_slips

from lotscreen.words import say


def _coins(*rows: tuple[str, str, str, str, str, str, str]) -> pd.DataFrame:
    names = ["weight_g", "true_kind", "injected_fault", "fault_cell", "right_cell", "finding",
             "reason"]  # fmt: skip
    frame = pd.DataFrame(rows, columns=names)
    return frame.assign(diameter_mm="30.60", thickness_mm="2.10", lot=0)


def _reason(proposed: str) -> str:
    facts = {"slip": "x", "quantity": "weight", "found": "21.41 g", "proposed": proposed}
    return say("findings.reason.slip", **facts)


def test_the_claims_of_a_lot_made_by_hand() -> None:
    honest = [(f"12.{n:02}", "honest", "", "", "", "consistent", "") for n in range(20, 60)]
    slips = [
        (
            "21.41",
            "honest",
            "swapped digits",
            "weight_g",
            "12.41",
            "re-measure",
            _reason("12.41 g"),
        ),
        ("14.41", "honest", "wrong digit", "weight_g", "12.41", "re-measure", _reason("14.11 g")),
        ("12.42", "honest", "wrong digit", "weight_g", "12.41", "consistent", ""),
        ("1.241", "honest", "decimal slip", "weight_g", "12.41", "set aside", ""),
    ]
    others = [("10.30", "brass, right size", "", "", "", finding, "")
              for finding in ("set aside", "re-measure")]  # fmt: skip
    coins = _coins(*honest, *slips, *others)
    assert leaves_range(coins).sum() == 3
    assert proposals(coins)["right"].sum() == 1
    block = _coins(*(("190.1", "honest", "unit: grain", "weight_g", "", "re-measure", "")
                     for _ in range(10)))  # fmt: skip
    found = [(c.hits, c.coins) for c in claims(Scored(coins, True), Scored(block, True))]
    assert found == [(2, 3), (1, 2), (0, 40), (1, 2), (1, 1)]


@pytest.mark.calibration
def test_every_claim_about_slips_and_blocks_holds() -> None:
    """A tenth of the lots that the command draws."""
    single, blocks = scored(with_single_slips(20)), scored(with_blocks(20))
    assert single.rows_agree
    assert blocks.rows_agree
    broken = [claim.line() for claim in claims(single, blocks) if not claim.holds]
    assert not broken, "\n".join(broken)
