"""Second door: the item table and the standards -> a frozen ``Fit`` that judges coins."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from lotscreen.instruments import ScaleBelief
from lotscreen.one_thread import one_thread
from lotscreen.records import Bools, Floats, ItemKind, ItemTable, Texts
from lotscreen.settings import Settings
from lotscreen.standards import CoinType, Resolution, StandardsTable
from lotscreen.wear import false_part, grid, stands
from lotscreen.wear.cell_counts import count_cells
from lotscreen.wear.components import boxes
from lotscreen.wear.gauge_fit import fit_diameter, fit_thickness, from_references, refine
from lotscreen.wear.group_levels import GroupLevels
from lotscreen.wear.joint import (
    Lengths,
    by_date,
    component_terms,
    ground_of,
    honest_terms,
    scored_shares,
    weight_terms,
)
from lotscreen.wear.lengths import judged_diameter, with_length
from lotscreen.wear.offsets import groups_of
from lotscreen.wear.predict import predictor
from lotscreen.wear.predicted import Predicted
from lotscreen.wear.relief import Relief, fit_relief
from lotscreen.wear.shares import departing_shares, honest_chance
from lotscreen.wear.standing import CoinRows, coin_rows
from lotscreen.wear.type_fit import GaugeFit, TypeFit, weights_alone
from lotscreen.wear.weight_fit import WeightFit, fit_weights
from lotscreen.words import say

_MATE_LIMIT = 0.01
_AGAIN_FROM = 30
_GAUGE_TURNS, _PASSES = 3, 4
# From weights alone chances grow firmer with every pass than the weights are.
_PASSES_BY_WEIGHT = 1
_SETTLED_CHANCE = 0.002


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """Everything needed to judge a coin, frozen: fitted types by key, standards, settings.

    ``items`` are the ids of the items that entered the fit: they are judged as if left
    out of it. Save and load with :mod:`lotscreen.wear.saved`.
    """

    types: Mapping[str, TypeFit]
    standards: StandardsTable
    belief: ScaleBelief
    settings_digest: str
    items: frozenset[str]
    seed: int


def with_types(
    table: ItemTable, standards: StandardsTable, mint_marks: Sequence[str] = ()
) -> ItemTable:
    """Fill ``type_key`` and ``type_note`` where empty, from type text, year and mint mark
    (``mint_marks`` one an item, or none)."""
    open_rows = np.array([key == "" for key in table.type_key], dtype=np.bool_)
    if not open_rows.any():
        return table
    keys, notes = table.type_key.copy(), table.type_note.copy()
    candidates: dict[int, tuple[str, ...]] = {}
    known: dict[tuple[str, float, str], Resolution] = {}
    for i in np.flatnonzero(open_rows):
        year = float(table.year[i])
        mark = mint_marks[int(i)] if mint_marks else ""
        asked = (str(table.type_text[i]), year if year == year else -1.0, mark)
        if asked not in known:
            found = standards.resolve(asked[0], None if asked[1] < 0 else year, mark)
            known[asked] = found
        keys[i], notes[i] = known[asked].key, known[asked].note
        candidates[int(i)] = known[asked].candidates
    _as_lot_mates(table, keys, notes, candidates)
    return replace(table, type_key=keys, type_note=notes)


def _as_lot_mates(
    table: ItemTable, keys: Texts, notes: Texts, candidates: Mapping[int, tuple[str, ...]]
) -> None:
    """Give items without date the standard that most items of the same name have, where
    it is among the candidates: a dateless coin or a roll beside dated ones."""
    votes: dict[str, Counter[str]] = {}
    for text, key in zip(table.type_text, keys, strict=True):
        if key:
            votes.setdefault(str(text), Counter())[str(key)] += 1
    for i, offered in candidates.items():
        mates = votes.get(str(table.type_text[i]))
        if keys[i] or mates is None or np.isfinite(table.year[i]):
            continue
        likeliest = max(mates.items(), key=lambda pair: (pair[1], pair[0]))[0]
        if likeliest in offered:
            keys[i] = likeliest
            notes[i] = say("findings.note.as_lot_mates", type_key=likeliest, mates=mates[likeliest])


@one_thread
def fit(
    table: ItemTable,
    standards: StandardsTable,
    settings: Settings,
    seed: int,
    start: Fit | None = None,
    belief: ScaleBelief | None = None,
) -> Fit:
    """Fit every type among the coins of ``table`` that has a standard and a weight.

    ``start`` is an earlier fit whose standards' types are kept where the table has no
    coin of them. ``belief`` is what is known of the balance (default: the declared
    width about zero). The seed is recorded; no step of this fit draws at random.
    """
    table = with_types(table, standards)
    belief = belief or ScaleBelief(0.0, settings.scale_width, False)
    usable = usable_coins(table)
    types: dict[str, TypeFit] = dict(start.types) if start is not None else {}
    for key in sorted(set(table.type_key[usable])):
        rows = usable & (table.type_key == key)
        pieces = table.rows((table.kind == ItemKind.REFERENCE) & (table.type_key == key))
        types[key] = _fit_type(table.rows(rows), pieces, standards.get(key), belief, settings)
    ids = frozenset(str(i) for i in table.item_id[usable])
    return Fit(types, standards, belief, settings.digest(), ids, seed)


def usable_coins(table: ItemTable) -> Bools:
    """Coins with a standard and a weight."""
    return np.asarray(
        (table.kind == ItemKind.COIN) & (table.type_key != "") & (table.weight_n > 0)
    ).astype(np.bool_)


def unfitted(coin_type: CoinType, belief: ScaleBelief, settings: Settings) -> TypeFit:
    """A type judged on standard, instrument and wear allowance alone (no coins seen)."""
    half = 0.005 * coin_type.weight_g
    middle = np.array([coin_type.weight_g])
    nothing = count_cells(middle - half, middle + half, middle * 0 + half, np.array([np.nan]))
    empty = replace(nothing, counts=nothing.counts * 0.0)
    end = settings.circulation_end or coin_type.circulation_end
    found = fit_weights(coin_type, empty, belief, end, settings)
    none, nobody = np.empty(0), np.empty(0, np.bool_)
    diameter = fit_diameter(none, none, none, nobody, coin_type)
    thickness = fit_thickness(none, none, none, nobody, 1)
    first = _as_type_fit(coin_type, 0, end, belief, found, diameter, thickness)
    tables = predictor(first)
    years = np.linspace(coin_type.first_year, min(coin_type.last_year or end, end), 8)
    return replace(first, typical_wear=np.array([tables.wear(float(y)) for y in years[::-1]]))


def _as_type_fit(
    coin_type: CoinType, coins: int, end: int, belief: ScaleBelief, w: WeightFit,
    diameter: GaugeFit, thickness: GaugeFit, relief: Relief | None = None,
    groups: GroupLevels | None = None,
) -> TypeFit:  # fmt: skip
    equal = boxes(coin_type, weights_alone(diameter, thickness)).equal
    return TypeFit(
        coin_type, coins, end, w.prior, belief, w.struck, w.struck_prior_sd_g, w.shape,
        w.slick_known, w.years, w.date_coins, w.levels.posterior, w.levels.line,
        w.levels.slope_evidence, w.false_share, w.strips, false_part.PRIOR_SHARE, equal,
        np.ones((1, len(grid.WEAR))) / len(grid.WEAR), 0.0, diameter, thickness, relief,
        groups, stands.grade_levels(w),
    )  # fmt: skip


def _fit_type(
    coins: ItemTable, pieces: ItemTable, coin_type: CoinType, belief: ScaleBelief,
    settings: Settings,
) -> TypeFit:  # fmt: skip
    """Weights alone first; then weights again, as long as lengths or groups say more and
    once where they say nothing, with groups at their own levels and, where coins are enough,
    each counted by its chance to be honest by all its readings. Departures then go with the
    wear of the coin's date, which strips of weight alike for all dates do not."""
    end = settings.circulation_end or coin_type.circulation_end
    rows = coin_rows(coins, None, np.ones(len(coins), np.bool_))
    silent = GaugeFit(np.nan, 0.0, np.nan, np.nan, 1.0, 0, "")
    found = fit_weights(coin_type, stands.cells_of(rows, None), belief, end, settings)
    first = _as_type_fit(coin_type, len(coins), end, belief, found, silent, silent)
    seen = predictor(first).predict(rows)
    now, chances = _with_shares(
        _with_gauges(first, coins, pieces, seen, settings), coins, rows, seen, _GAUGE_TURNS
    )
    groups = groups_of(coins)
    now = stands.with_groups(now, rows, groups, seen, chances.departing)
    apart = len(coins) >= _AGAIN_FROM
    full = (apart and with_length(coins, now).any()) or stands.groups_matter(now)
    passes = _PASSES if full else _PASSES_BY_WEIGHT if apart else 0
    for turn in range(passes):
        before = chances.honest
        cells = stands.cells_of(rows, before if apart else None, now, groups)
        start = found if apart else None
        found = fit_weights(coin_type, cells, belief, end, settings, start, apart)
        again = _as_type_fit(coin_type, len(coins), end, belief, found,
                             now.diameter, now.thickness, now.relief, now.groups)  # fmt: skip
        rows, seen = stands.seen_again(coins, rows, again)
        now, chances = _with_shares(again, coins, rows, seen, 1, before)
        settled = np.abs(chances.honest - before).mean() < _SETTLED_CHANCE
        learned = stands.with_groups(now, rows, groups, seen, chances.departing)
        if turn == passes - 1 or (settled and stands.groups_settled(now, learned)):
            break
        now = learned
    return stands.with_classes(now, rows if groups is None else coin_rows(coins, now, rows.in_fit))


@dataclass(frozen=True, slots=True)
class _Chances:
    """Each coin's chance to be ``honest`` (n,), and its density as a ``departing`` coin, in
    the shares of the score, over that as an honest one."""

    honest: Floats
    departing: Floats


def _with_shares(
    fit: TypeFit, coins: ItemTable, rows: CoinRows, seen: Predicted, turns: int,
    chance: Floats | None = None,
) -> tuple[TypeFit, _Chances]:  # fmt: skip
    """Alternate gauges and shares of the departures, each learned with the other known;
    also each coin's chances. ``chance`` is each coin's to be honest, where known before."""
    across = judged_diameter(coins)[0]
    weight = weight_terms(ground_of(fit), rows.low_g, rows.high_g, rows.u_g, seen.date)
    lengths = Lengths(across, by_date(coins.thickness_mm, fit, rows, seen.wear))
    found = _Chances(np.empty(0), np.empty(0))
    for _ in range(turns):
        if chance is not None:
            fit = _refined(fit, coins, lengths, seen, chance)
            lengths = Lengths(across, by_date(coins.thickness_mm, fit, rows, seen.wear))
        ground = ground_of(fit)
        honest = honest_terms(ground, seen.cell, lengths, seen.wear, seen.wear_sd)
        terms = component_terms(ground, weight, lengths)
        share, shares = departing_shares(honest, terms, ground.box.equal)
        fit = replace(fit, departing_share=share, component_shares=shares)
        chance = honest_chance(honest, terms, share, shares)
        found = _Chances(chance, terms @ scored_shares(fit, ground.box) / honest)
    return fit, found


def _refined(
    fit: TypeFit, coins: ItemTable, lengths: Lengths, seen: Predicted, chance: Floats
) -> TypeFit:
    gauges = []
    for gauge, value, u, standard_mm in (
        (fit.diameter, lengths.diameter_mm, coins.diameter_u_mm, fit.coin_type.diameter_mm),
        (fit.thickness, lengths.thickness_mm, coins.thickness_u_mm, None),
    ):
        has = np.isfinite(value)
        if has.any():
            gauge = refine(
                gauge,
                value[has],
                seen.wear[has],
                seen.wear_sd[has],
                chance[has],
                float(np.median(u[has])),
                coins.year[has],
                standard_mm,
            )
        gauges.append(gauge)
    line = gauges[1]
    residual = coins.thickness_mm - line.reference_mm - line.slope_mm * seen.wear
    relief = fit_relief(residual, coins.year, chance, line.sd_mm) if line.free_slope else None
    return replace(fit, diameter=gauges[0], thickness=line, relief=relief)


def _with_gauges(
    first: TypeFit, coins: ItemTable, pieces: ItemTable, seen: Predicted, settings: Settings
) -> TypeFit:
    coin_type = first.coin_type
    mate: Bools = np.minimum(seen.p_low, seen.p_high) * 2 > _MATE_LIMIT
    diameter = _gauge_rows(coins.diameter_mm, coins.diameter_u_mm, seen.wear, mate)
    thickness = _gauge_rows(coins.thickness_mm, coins.thickness_u_mm, seen.wear, mate)
    gauged = fit_thickness(*thickness, settings.thickness_mates)
    known = np.isfinite(pieces.thickness_mm)
    if not gauged.speaks and known.any():
        lost = np.clip(1 - pieces.weight_g[known] / coin_type.weight_g, 0.0, 0.3)
        gauged = from_references(
            pieces.thickness_mm[known], pieces.thickness_u_mm[known], np.nan_to_num(lost)
        )
    return replace(first, diameter=fit_diameter(*diameter, coin_type), thickness=gauged)


def _gauge_rows(
    value: Floats, u: Floats, wear: Floats, mate: Bools
) -> tuple[Floats, Floats, Floats, Bools]:
    has = np.isfinite(value)
    return value[has], u[has], wear[has], mate[has]
