"""Coins alike across lots: a family of casts is found in two parcels, honest coins are not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from report_blocks import flat
from report_lot import invented
from type_lots import STANDARDS, Truth, drawn, table_of, truth

from lotscreen.evidence import judge
from lotscreen.lot.across import RARE, LookAlikes, look_alikes
from lotscreen.report.blocks import Items, Paragraph
from lotscreen.report.cut import cut_to_lot
from lotscreen.report.pages import look_alikes as page
from lotscreen.report.view import report_view
from lotscreen.settings import Settings
from lotscreen.simulate import KindCount
from lotscreen.wear import fit


def _found(made: Truth, seed: int) -> tuple[tuple[LookAlikes, ...], set[str]]:
    """Groups found when the coins are dealt to two lots in turn, and the true family."""
    lot = drawn(made, seed)
    table = table_of(lot, made.key)
    table = replace(table, lot=np.where(np.arange(len(table)) % 2, "K-02", "K-01").astype(object))
    frozen = fit(table, STANDARDS, Settings(), 0)
    findings = judge(table, frozen, Settings())
    family = table.item_id[(lot.key["true_kind"] == "cast, one mould").to_numpy()]
    return look_alikes(table, table.item_id, findings, frozen), set(family)


def test_a_family_of_casts_is_found_across_two_parcels() -> None:
    made = replace(truth(0, 160), kinds=(KindCount("cast, one mould", 10),))
    groups, family = _found(made, 8)
    assert len(groups) == 1
    (group,) = groups
    assert set(group.coin_ids) <= family
    assert len(group.coin_ids) >= 5
    assert set(group.lots) == {"K-01", "K-02"}
    assert group.rate <= RARE
    assert group.by_chance < 0.5 * len(group.coin_ids)
    assert "one mould or one maker" in group.said
    assert all(name in group.said for name in group.coin_ids)


@pytest.mark.calibration
def test_honest_coins_are_alike_by_chance_alone() -> None:
    told = [_found(truth(number, 200), 20 + number)[0] for number in range(8)]
    assert sum(bool(groups) for groups in told) <= 1


def test_the_page_tells_the_groups_and_a_cut_report_tells_none() -> None:
    made = invented(40, ("K-01", "K-02"))
    group = LookAlikes("us-half-1873", ("3", "9"), ("K-01", "K-02"), 1.1, 0.001, "two alike")
    both = replace(made, look_alikes=(group,))
    assert Items(("Two alike.",)) in page.build(report_view(both, None, "0.1.0"))
    none = flat(page.build(report_view(made, None, "0.1.0")))
    assert any(isinstance(b, Paragraph) and "No coins of different lots" in b.text for b in none)
    assert page.build(report_view(both, "K-01", "0.1.0")) == []
    assert cut_to_lot(both, "K-01").look_alikes == ()
