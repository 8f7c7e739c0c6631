"""What is drawn of a type's coins: the false part, ordered residuals with their envelope, the
real lot among honest ones; and apparent densities."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from type_lots import STANDARDS, drawn, table_of, truth

from lotscreen.display import TypeDisplay
from lotscreen.evidence import judge
from lotscreen.lot.density import apparent_densities
from lotscreen.lot.parade import OTHERS
from lotscreen.lot.pictures import type_display
from lotscreen.lot.quantiles import quantile_plot
from lotscreen.records import ItemTable
from lotscreen.settings import Settings
from lotscreen.simulate import KindCount
from lotscreen.wear import Fit, fit

HALF = replace(truth(0, 300), kinds=(KindCount("brass, right size", 30),))


@cache
def _lot() -> tuple[ItemTable, Fit]:
    table = table_of(drawn(HALF, 5), HALF.key)
    return table, fit(table, STANDARDS, Settings(), 0)


@cache
def _display() -> TypeDisplay:
    table, fitted = _lot()
    findings = judge(table, fitted, Settings())
    return type_display(table, fitted.types[HALF.key], Settings(), findings)


def test_the_false_part_has_the_share_of_the_fit_and_lies_where_brass_does() -> None:
    shown = _display()
    assert shown.false_density_per_g is not None
    widths = np.gradient(shown.curve_weight_g)
    share = float(shown.false_density_per_g @ widths)
    assert 0.06 < share < shown.false_share < 0.16
    heaviest = shown.curve_weight_g[np.argmax(shown.false_density_per_g)]
    assert 0.75 < heaviest / shown.standard_weight_g < 0.87


@pytest.mark.calibration
def test_honest_residuals_lie_in_the_envelope_in_95_of_100_lots() -> None:
    """Counted over 300 normal samples of each size, within four standard errors."""
    rng = np.random.default_rng(3)
    for n in (12, 90, 700):
        inside = 0
        for _ in range(300):
            plot = quantile_plot(rng.normal(size=n))
            assert plot is not None
            inside += plot.outside == 0
        assert 0.95 - 4 * 0.0126 <= inside / 300 <= 0.95 + 4 * 0.0126


def test_a_few_strangers_leave_the_envelope_at_the_ends_only() -> None:
    z = np.random.default_rng(4).normal(size=400)
    z[:6] = -7.0
    plot = quantile_plot(z)
    assert plot is not None
    out = (plot.residual < plot.low) | (plot.residual > plot.high)
    assert out[:6].all()
    assert quantile_plot(np.array([1.0, np.nan])) is None


def test_the_real_lot_stands_among_nineteen_on_the_same_bars() -> None:
    shown = _display().parade
    table, _ = _lot()
    assert shown is not None
    assert shown.counts.shape == (OTHERS + 1, len(shown.edges_g) - 1)
    assert (shown.counts.sum(axis=1) == len(table)).all()
    inner = np.histogram(table.weight_g, shown.edges_g)[0][1:-1]
    assert (shown.counts[shown.real][1:-1] == inner).all()
    # many of the thirty brass coins stand in the first bar of the real lot alone
    first = shown.counts[:, 0]
    assert first[shown.real] == first.max() > 4 * np.sort(first)[-2]


def test_the_same_lot_is_drawn_the_same_and_lots_differ_in_its_place() -> None:
    table, fitted = _lot()
    again = type_display(table, fitted.types[HALF.key], Settings()).parade
    assert again is not None
    assert _display().parade is not None
    assert (again.counts == _display().parade.counts).all()  # type: ignore[union-attr]
    places = set()
    for size in range(200, 212):
        part = table.rows(slice(0, size))
        shown = type_display(part, fitted.types[HALF.key], Settings()).parade
        assert shown is not None
        places.add(shown.real)
    assert len(places) > 4


def test_wear_cancels_in_the_apparent_density_and_brass_shows() -> None:
    """Honest coins, however worn, have the density of their alloy; brass has its own."""
    table, fitted = _lot()
    found = apparent_densities(table, np.ones(len(table), np.bool_), fitted)
    assert len(found) == len(table)
    lot = drawn(HALF, 5).key
    density = np.array([found[i].density_g_cm3 for i in table.item_id])
    u = np.array([found[i].u_g_cm3 for i in table.item_id])
    honest = (lot["true_kind"] == "honest").to_numpy()
    wear = lot["true_wear_percent"].astype(float).to_numpy()
    silver = STANDARDS.get(HALF.key).density_g_cm3
    worn = honest & (wear > np.quantile(wear[honest], 0.8))
    assert density[honest].mean() == pytest.approx(silver, rel=0.01)
    assert density[worn].mean() == pytest.approx(density[honest].mean(), rel=0.012)
    assert 0.9 < np.mean(np.abs(density[honest] - silver) < 2 * u[honest]) <= 1.0
    assert density[~honest].mean() == pytest.approx(8.5, abs=0.25)
    admits = [found[i].admits for i in table.item_id[~honest]]
    assert np.mean([any("brass" in name for name in names) for names in admits]) > 0.9
    kept = [found[i].admits for i in table.item_id[honest]]
    assert np.mean([any("silver .900" in n or "silver 900" in n for n in k) for k in kept]) > 0.8
