"""Score the screen on invented lots with known slips, single and in blocks.

``python tests/calibration/slips.py [--lots N]`` draws N lots of 500 halves with 1 to 3 % of
the cells spoilt (decimal, swapped digits, wrong digit, columns, unit in equal parts) and 0, 1
or 10 % of the coins not honest, and half as many lots with one faulty block each, and prints
what was found as counts with exact binomial 95 % intervals (Clopper and Pearson, Biometrika
26, 1934). Exit code 1 where a claim does not hold.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pandas as pd
from sample_keys import DEPARTING, Claim

import lotscreen
from lotscreen.simulate import CoinSpec, KindCount, LotSpec, SimulatedLot, Wear, draw_lot
from lotscreen.simulate.spoiling import (
    KINDS_OF_SLIP,
    UNIT,
    Block,
    swapped_block,
    unit_block,
    with_slips,
)
from lotscreen.standards import load_standards
from lotscreen.words import phrase

COINS = 500
FALSE_SHARES = (0.0, 0.01, 0.1)
FALSE_KINDS = ("brass, right size", "nickel silver, right weight", "cast", "copper, right size")
MEASURES = ("weight_g", "diameter_mm", "thickness_mm")
HONEST_RANGE = (0.001, 0.999)  # shares of honest readings below and up to its ends
SWAPPED_ROWS, UNIT_ROWS = 9, 10
RE_MEASURE = "re-measure"
HALF_STEP = 0.0051  # g or mm


@dataclass(frozen=True, slots=True)
class Scored:
    """``coins``: one row a coin with its key, cells as typed, finding and reason.
    ``rows_agree``: used + left out = rows in every lot."""

    coins: pd.DataFrame
    rows_agree: bool


def drawn(seed: int, false_share: float) -> SimulatedLot:
    """A lot of halves without slips; the coins that are not honest in equal parts."""
    of_each = round(false_share * COINS / len(FALSE_KINDS))
    wear = Wear(("gamma", "lognormal", "weibull")[seed % 3], depth_um_per_year=0.8, growth=0.8)
    spec = CoinSpec(
        coin_type=load_standards().get("us-half-1873"),
        type_text="US half dollar",
        count=COINS,
        years=tuple(range(1892, 1965)),
        in_use_until=1965,
        wear=wear,
        kinds=tuple(KindCount(kind, of_each) for kind in FALSE_KINDS) if of_each else (),
        designs=(1916, 1948, 1964),
    )
    return draw_lot(LotSpec((spec,)), seed)


def with_single_slips(lots: int) -> Iterator[SimulatedLot]:
    """Lots of each false share in turn, slips at 1, 2 and 3 % of the cells."""
    for number in range(lots):
        lot = drawn(1000 + number, FALSE_SHARES[number % len(FALSE_SHARES)])
        yield with_slips(lot, (0.01, 0.02, 0.03)[number // 3 % 3], seed=number)


def with_blocks(lots: int) -> Iterator[SimulatedLot]:
    """Honest lots with nine rows of two columns swapped, or ten rows in another unit."""
    for number in range(lots):
        lot = drawn(5000 + number, 0.0)
        first = 30 + 37 * number % (COINS - 80)
        if number % 2:
            unit_block(lot, Block(first, first + UNIT_ROWS - 1), ("grain", "dwt")[number // 2 % 2])
        else:
            one, other = (MEASURES[1:], MEASURES[:2])[number // 2 % 2]
            swapped_block(lot, Block(first, first + SWAPPED_ROWS - 1), one, other)
        yield SimulatedLot(lot.sheet, lot.key.assign(right_cell=""))


def scored(lots: Iterator[SimulatedLot]) -> Scored:
    """Screen each lot and put the findings beside the keys."""
    parts, agree = [], True
    for number, lot in enumerate(lots):
        result = lotscreen.screen(lot.sheet, again=False)
        intake = result.intake
        agree &= intake.rows_read == len(intake.items) + len(intake.left_out) == len(lot.sheet)
        found = pd.DataFrame(
            {
                "coin_id": intake.items["coin_id"].to_numpy(object),
                "finding": result.findings.finding,
                "reason": result.findings.reason,
            }
        )
        both = pd.concat([lot.sheet[list(MEASURES)], lot.key], axis="columns")
        parts.append(both.merge(found, on="coin_id", validate="one_to_one").assign(lot=number))
    return Scored(pd.concat(parts, ignore_index=True), agree)


def leaves_range(coins: pd.DataFrame) -> np.ndarray:
    """Coins with a spoilt cell outside the range of 99.8 % of the honest, unspoilt readings."""
    clean = (coins["true_kind"] == "honest") & (coins["injected_fault"] == "")
    outside = np.zeros(len(coins), dtype=np.bool_)
    for name in MEASURES:
        values = pd.to_numeric(coins[name]).to_numpy(float)
        low, high = np.quantile(values[clean], HONEST_RANGE)
        spoilt = coins["fault_cell"].str.contains(name).to_numpy()
        outside |= spoilt & ((values < low) | (values > high))
    return outside


def proposals(coins: pd.DataFrame) -> pd.DataFrame:
    """The value that each reason proposes (NaN none), and whether it is the right one."""
    template = re.escape(phrase("findings.reason.slip"))
    pattern = template.replace(r"\{proposed\}", r"(?P<proposed>[\d.]+)(?: g| mm)?")
    pattern = re.sub(r"\\\{\w+\\\}", ".+?", pattern)
    said = coins["reason"].str.extract(pattern, expand=True)["proposed"]
    proposed = pd.to_numeric(said.str.rstrip("."))
    right = [
        any(abs(value - float(cell)) <= HALF_STEP + lost for cell in cells.split("; ") if cell)
        for value, cells, lost in zip(
            proposed, coins["right_cell"], _rounded_off(coins), strict=True
        )
    ]
    return pd.DataFrame({"proposed": proposed, "right": right})


def _rounded_off(coins: pd.DataFrame) -> list[float]:
    """What writing in another unit rounded off each coin's cell and nobody can know any
    more: half of its last digit, in the column's unit (a thousandth inch: 0.013 mm)."""
    lost = []
    for row in coins.to_dict("records"):
        if row["injected_fault"] != UNIT:
            lost.append(0.0)
            continue
        typed = str(row[row["fault_cell"]])
        unit = float(row["right_cell"]) / float(typed)
        lost.append(0.5 * unit * 10.0 ** -len(typed.partition(".")[2]))
    return lost


def claims(single: Scored, blocks: Scored) -> list[Claim]:
    """What is asked of single slips and of blocks."""
    coins = single.coins
    again = (coins["finding"] == RE_MEASURE).to_numpy()
    spoilt = (coins["injected_fault"] != "").to_numpy()
    honest = (coins["true_kind"] == "honest").to_numpy()
    outside = leaves_range(coins) & honest
    told = proposals(coins)
    made = again & spoilt & told["proposed"].notna().to_numpy()
    faulty = (blocks.coins["injected_fault"] != "").to_numpy()
    found = blocks.coins.loc[faulty, "finding"].eq(RE_MEASURE).groupby(blocks.coins["lot"]).mean()
    return [
        Claim("slips that leave the honest range re-measured",
              int((outside & again).sum()), int(outside.sum()), 0.80, False),
        Claim("false coins re-measured for a guessed slip",
              int((again & ~honest & ~spoilt).sum()), int((~honest & ~spoilt).sum()), 0.05, True),
        Claim("honest coins without a slip re-measured",
              int((again & honest & ~spoilt).sum()), int((honest & ~spoilt).sum()), 0.01, True),
        Claim("proposals right", int(told["right"][made].sum()), int(made.sum()), 0.90, False),
        Claim("blocks found (nine rows in ten re-measured)",
              int((found >= 0.9).sum()), len(found), 0.95, False),
    ]  # fmt: skip


def table(single: Scored) -> str:
    """By kind of slip: how many leave the honest range, and what became of them."""
    coins = single.coins[single.coins["injected_fault"] != ""]
    outside = leaves_range(single.coins)[coins.index]
    rows = []
    for kind in KINDS_OF_SLIP:
        of_kind = (coins["injected_fault"] == kind).to_numpy()
        finding = coins["finding"].to_numpy()
        beyond = of_kind & outside
        rows.append(
            {
                "slip": kind,
                "cells": int(of_kind.sum()),
                "outside the honest range": f"{beyond.sum() / max(of_kind.sum(), 1):.0%}",
                "of these re-measured": f"{(finding[beyond] == RE_MEASURE).mean():.0%}",
                "set aside or not consistent": f"{np.isin(finding[beyond], DEPARTING).mean():.0%}",
            }
        )
    return pd.DataFrame(rows).to_string(index=False)


def main() -> int:
    """Print the table and the claims."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--lots", type=int, default=200)
    lots: int = parser.parse_args().lots
    single, blocks = scored(with_single_slips(lots)), scored(with_blocks(max(lots // 2, 2)))
    print(table(single), end="\n\n")
    found = claims(single, blocks)
    for claim in found:
        print(claim.line())
    agree = single.rows_agree and blocks.rows_agree
    print(f"used + left out = rows in every lot: {'holds' if agree else 'DOES NOT HOLD'}")
    return 0 if agree and all(claim.holds for claim in found) else 1


if __name__ == "__main__":
    sys.exit(main())
