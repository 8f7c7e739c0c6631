"""Score the screen against the keys of the four sample lots.

``python tests/calibration/sample_keys.py`` prints, as counts with exact binomial 95 %
intervals (Clopper and Pearson, Biometrika 26, 1934), what was found of honest coins and
of the kinds that a screen must catch. Exit code 1 where a claim does not hold.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import pandas as pd
from scipy.stats import binomtest

import lotscreen
from lotscreen.settings import Settings

SAMPLES = Path(__file__).resolve().parents[2] / "sample_lots"
SHEETS = ("jar_of_halves.xlsx", "two_parcels.csv", "salted_bag.ods", "all_honest.csv")
DEPARTING = ("set aside", "not consistent")
CAUGHT = (
    "brass, right size",
    "pewter, right size",
    "brass, right weight",
    "nickel silver, right weight",
    "cast, one mould",
)


@dataclass(frozen=True, slots=True)
class Claim:
    """``hits`` of ``coins``; their share must be at most (or at least) ``bound``."""

    says: str
    hits: int
    coins: int
    bound: float
    at_most: bool

    @property
    def share(self) -> float:
        return self.hits / self.coins

    @property
    def holds(self) -> bool:
        return self.share <= self.bound if self.at_most else self.share >= self.bound

    def line(self) -> str:
        interval = binomtest(self.hits, self.coins).proportion_ci(method="exact")
        return (
            f"{self.says}: {self.hits} of {self.coins} = {self.share:.2%} "
            f"(95 %: {interval.low:.2%} to {interval.high:.2%}); "
            f"{'at most' if self.at_most else 'at least'} {self.bound:.2%}: "
            f"{'holds' if self.holds else 'DOES NOT HOLD'}"
        )


def scored(sheet: str) -> pd.DataFrame:
    """The key of one sample with the finding and the reason of each of its coins."""
    result = lotscreen.screen(SAMPLES / sheet, again=False)
    items = result.intake.items[["item_id", "coin_id"]]
    found = pd.DataFrame(
        {
            "item_id": result.findings.item_id,
            "finding": result.findings.finding,
            "reason": result.findings.reason,
        }
    ).merge(items, on="item_id", validate="one_to_one")
    name = f"{sheet.partition('.')[0]}_key.csv"
    key = pd.read_csv(SAMPLES / "keys" / name, keep_default_na=False, dtype={"coin_id": str})
    both = key.merge(found, on="coin_id", how="left", validate="one_to_one")
    return both.assign(sample=sheet, finding=both["finding"].fillna("not read"))


def claims(coins: pd.DataFrame) -> list[Claim]:
    """What is promised of the pooled samples."""
    clean = coins["injected_fault"] == ""
    honest = coins.loc[clean & (coins["true_kind"] == "honest"), "finding"]
    caught = coins.loc[coins["true_kind"].isin(CAUGHT), ["true_kind", "finding"]]

    def of_honest(says: str, findings: tuple[str, ...], bound: float) -> Claim:
        return Claim(
            f"honest coins {says}", int(honest.isin(findings).sum()), len(honest), bound, True
        )

    def caught_of(says: str, words: str) -> Claim:
        rows = caught[caught["true_kind"].str.contains(words)]
        hits = int(rows["finding"].isin(DEPARTING).sum())
        return Claim(f"{says} set aside or not consistent", hits, len(rows), 0.95, False)

    return [
        of_honest("set aside or not consistent", DEPARTING, 1.5 * Settings().limit),
        of_honest("to re-measure", ("re-measure",), 0.01),
        of_honest("not judged or not read", ("not judged", "not read"), 0.0),
        caught_of("base metal at the right size", "right size"),
        caught_of("right weight, too thick", "right weight"),
        caught_of("casts", "cast"),
    ]


def main() -> int:
    """Print the table of findings by sample and kind, then the claims."""
    coins = pd.concat([scored(sheet) for sheet in SHEETS], ignore_index=True)
    spoilt = coins["injected_fault"].where(coins["injected_fault"] == "", " (cell spoilt)")
    table = pd.crosstab([coins["sample"], coins["true_kind"] + spoilt], coins["finding"])
    print(table.to_string(), end="\n\n")
    found = claims(coins)
    for claim in found:
        print(claim.line())
    return 0 if all(claim.holds for claim in found) else 1


if __name__ == "__main__":
    sys.exit(main())
