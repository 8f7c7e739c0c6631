"""The one orchestrator: the only place that knows the order of the steps."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from lotscreen.display import TypeDisplay
from lotscreen.evidence import judge
from lotscreen.evidence.blocks import with_blocks
from lotscreen.evidence.suspension import settle_suspended, with_failed_checks, without_error
from lotscreen.fit_file import fit_digest
from lotscreen.instruments import (
    CheckReading,
    check_readings,
    instruments_of,
    scale_belief,
)
from lotscreen.intake import ReadOptions, read_frame, read_sheets
from lotscreen.intake.corrections import weighed_anew
from lotscreen.intake.years import with_year_doubts
from lotscreen.lot.across import LookAlikes, look_alikes
from lotscreen.lot.density import ApparentDensity, apparent_densities
from lotscreen.lot.pictures import type_display
from lotscreen.lot.state import (
    LotRows,
    fitted_rows,
    largest_departure,
    lot_statement,
    rows_of,
)
from lotscreen.lot.statement import LotStatement
from lotscreen.lot.worked import WorkedCoin
from lotscreen.one_thread import one_thread
from lotscreen.records import (
    Bools,
    FindingKind,
    Findings,
    Intake,
    ItemKind,
    ItemTable,
    Quantity,
    SettingsError,
)
from lotscreen.repeats import Repeats, spreads, with_repeats
from lotscreen.sensitivity import Judged, Sensitivity, judged_again
from lotscreen.sequential.plan import (
    FixedRule,
    rule_from_earlier_fit,
    rule_from_first_coins,
    rule_from_settings,
)
from lotscreen.sequential.rule import fixed_rule, looking_back
from lotscreen.sequential.running import RunningChart
from lotscreen.settings import ALARMS_PER_LIMIT, Settings
from lotscreen.standards import StandardsTable, load_standards
from lotscreen.summary import summarise
from lotscreen.wear import Fit, fit
from lotscreen.wear.fit import with_types
from lotscreen.words import say

Source = Path | str | pd.DataFrame | Sequence[Path | str]
_SHOWN_TYPES = 12
_SHOWN_FROM_COINS = 5


@dataclass(frozen=True, slots=True)
class Screening:
    """The whole result of one run; reports and tables are made from it alone.

    ``table`` and ``findings`` have one row an item, same order, groups, bags and checks
    included (their finding is ''). ``lots``, ``displays`` and ``running`` are by lot id,
    in the order of first appearance in the sheet. ``given`` are the choices of the run
    besides settings, standards and seed, in the types of JSON: what was said of the sheet,
    check weights, the digest of an earlier fit. ``fitted_with_others`` is true of a result
    cut to one lot where coins of other lots had a part in what its own were compared with.
    ``densities`` are apparent densities by item id, of coins whose size and thickness speak.
    ``look_alikes`` are groups of coins alike across lots. ``sensitivity`` says with what a
    finding moves.
    """

    intake: Intake
    table: ItemTable
    fit: Fit
    findings: Findings
    lots: Mapping[str, LotStatement]
    displays: Mapping[str, tuple[TypeDisplay, ...]]
    running: Mapping[str, RunningChart]
    settings: Settings
    standards: StandardsTable
    seed: int
    given: Mapping[str, Any] = field(default_factory=dict)
    repeats: tuple[Repeats, ...] = ()
    fitted_with_others: bool = False
    densities: Mapping[str, ApparentDensity] = field(default_factory=dict)
    look_alikes: tuple[LookAlikes, ...] = ()
    sensitivity: Sensitivity = field(default_factory=Sensitivity)

    def rows_by_kind(self) -> dict[str, int]:
        """Rows used by what they are: "coin", "group" (bags too), "check", "reference"."""
        kinds = self.table.kind
        of_kind = {kind.value: int((kinds == kind).sum()) for kind in ItemKind}
        of_kind[ItemKind.GROUP] += of_kind.pop(ItemKind.BAG)
        return of_kind


@one_thread
def screen(
    source: Source,
    *,
    settings: Settings | None = None,
    standards: StandardsTable | None = None,
    read_options: ReadOptions | None = None,
    check: Sequence[tuple[float, float]] = (),
    start: Fit | None = None,
    seed: int = 0,
    again: bool = True,
    progress: Callable[[str], None] | None = None,
) -> Screening:
    """Read, summarise, fit, judge, and state what follows for each lot.

    ``source`` is a file, several files, or a frame. ``check`` are pairs (stated g, read
    g) of check weights that hold for the whole sheet. ``start`` is an earlier fit: where
    given, the running chart's limits come from it. ``again``: findings are judged again
    without their fold and with other wear allowances. Raises children of LotscreenError.
    """
    settings = settings or Settings()
    standards = standards or load_standards()
    tell = progress or (lambda _: None)
    tell(say("screening.reading"))
    read_options = read_options or ReadOptions()
    intake = with_year_doubts(read(source, read_options), standards)
    tell(say("screening.fitting", items=len(intake.items)))
    checks = check_readings(intake.items, intake.readings, settings, check)
    belief = scale_belief(checks, settings)
    intake, studies = with_repeats(intake, checks)
    spread = spreads(studies, intake.readings, settings)
    instruments = instruments_of(intake.readings, settings, spread)
    table = summarise(intake.items, intake.readings, instruments)
    marks = [str(m) for m in intake.items["mint_mark"]]
    table = with_types(table, standards, marks)
    table = with_failed_checks(table, checks, weighed_anew(intake.readings))
    fitted = fit(table, standards, settings, seed, start, belief)
    tell(say("screening.judging"))
    alone = judge(table, fitted, settings)
    findings = _judged(table, fitted, alone, checks, settings)
    moves = Sensitivity()
    if again:
        tell(say("screening.again"))
        moves = judged_again(Judged(table, fitted, alone, findings), settings)
    tell(say("screening.stating"))
    screening = _stated(intake, table, fitted, findings, checks, start, settings, seed)
    screening = replace(screening, repeats=studies, sensitivity=moves)
    return replace(screening, given=_given(read_options, check, start))


def _given(
    options: ReadOptions, check: Sequence[tuple[float, float]], start: Fit | None
) -> dict[str, Any]:
    """The choices that were made, by name; those left as they are do not occur."""
    types = [options.default_type] if options.default_type else []
    choices = {
        "type": [*types, *(f"{rows}={text}" for rows, text in options.type_rows)],
        "check": [list(pair) for pair in check],
        "map": options.mapping,
        "lot_read": options.lot,
        "weight_unit": options.weight_unit,
        "start": None if start is None else fit_digest(start),
    }
    return {name: choice for name, choice in choices.items() if choice}


def _judged(
    table: ItemTable, fitted: Fit, alone: Findings, checks: Sequence[CheckReading],
    settings: Settings,
) -> Findings:  # fmt: skip
    """Findings of coins ``alone`` after blocks of slips were weighed; where a failed check's
    error could change one, it becomes *re-measure*."""
    findings = with_blocks(alone, table, fitted, settings)
    if not table.suspended.any():
        return findings
    mended = without_error(table, checks)
    otherwise = with_blocks(judge(mended, fitted, settings), mended, fitted, settings)
    return settle_suspended(findings, otherwise, table)


def read(source: Source, options: ReadOptions) -> Intake:
    """The intake of a file, several files or a frame."""
    if isinstance(source, pd.DataFrame):
        return read_frame(source, options=options)
    paths = [source] if isinstance(source, str | Path) else list(source)
    return read_sheets([Path(p) for p in paths], options)


def _stated(
    intake: Intake, table: ItemTable, fitted: Fit, findings: Findings,
    checks: Sequence[CheckReading], start: Fit | None, settings: Settings, seed: int,
) -> Screening:  # fmt: skip
    lots: dict[str, LotStatement] = {}
    displays: dict[str, tuple[TypeDisplay, ...]] = {}
    running: dict[str, RunningChart] = {}
    for name in dict.fromkeys(str(lot) for lot in table.lot):
        rows = np.asarray(table.lot == name, dtype=np.bool_)
        lots[name] = lot_statement(
            _lot_rows(name, rows, intake, table, findings, checks), fitted, settings
        )
        coins = rows & (table.kind == ItemKind.COIN)
        displays[name] = _displays(table, coins, fitted, findings, settings)
        if coins.any():
            running[name] = _running(table, coins, findings, start, settings)
    return Screening(intake, table, fitted, findings, lots, displays, running, settings,
                     fitted.standards, seed,
                     densities=apparent_densities(table, table.kind == ItemKind.COIN, fitted),
                     look_alikes=_look_alikes(intake, table, findings, fitted),
                     )  # fmt: skip


def _look_alikes(
    intake: Intake, table: ItemTable, findings: Findings, fitted: Fit
) -> tuple[LookAlikes, ...]:
    if len(set(table.lot)) < 2:
        return ()
    return look_alikes(table, intake.items["coin_id"].to_numpy(object), findings, fitted)


def _lot_rows(
    name: str, rows: Bools, intake: Intake, table: ItemTable, findings: Findings,
    checks: Sequence[CheckReading],
) -> LotRows:  # fmt: skip
    ids = set(table.item_id[rows])
    single = len(set(table.lot)) == 1
    own_checks = [c for c in checks if single or c.item_id in ids or c.order < 0]
    left_out = len(intake.left_out) if single else 0
    doubts = [d for d in intake.doubts if single or d.item_id in ids]
    worked = largest_departure(table, findings, rows)
    return LotRows(
        lot=name, table=table, findings=findings,
        coin_id=intake.items["coin_id"].to_numpy(object), rows=rows,
        rows_read=int(rows.sum()) + left_out, left_out=left_out, doubts=len(doubts),
        checks=own_checks, worked=None if worked is None else _worked_coin(worked, intake),
    )  # fmt: skip


def _worked_coin(row: int, intake: Intake) -> WorkedCoin:
    item = intake.items.iloc[row]
    readings = intake.readings
    own = readings[
        (readings["item_id"] == item["item_id"]) & (readings["quantity"] == Quantity.WEIGHT)
    ].iloc[0]
    return WorkedCoin(row, str(own["raw"]), float(own["tare"]), str(item["source_sheet"]),
                      int(item["source_row"]))  # fmt: skip


def _displays(
    table: ItemTable, coins: Bools, fitted: Fit, findings: Findings, settings: Settings
) -> tuple[TypeDisplay, ...]:
    shown = [
        (key, rows)
        for key, rows in fitted_rows(table, coins, fitted).items()
        if rows.sum() >= _SHOWN_FROM_COINS
    ]
    return tuple(
        type_display(table.rows(rows), fitted.types[key], settings, rows_of(findings, rows))
        for key, rows in shown[:_SHOWN_TYPES]
    )


def _running(
    table: ItemTable, coins: Bools, findings: Findings, start: Fit | None, settings: Settings
) -> RunningChart:
    rows = np.flatnonzero(coins)
    rows = rows[np.argsort(table.order[rows], kind="stable")]
    finding = findings.finding[rows]
    set_aside = np.isin(finding, [FindingKind.SET_ASIDE, FindingKind.NOT_CONSISTENT])
    unsettled = np.isin(finding, [FindingKind.RE_MEASURE, FindingKind.NOT_JUDGED])
    z = findings.z_weight[rows]
    try:
        rule = _rule(len(rows), z, set_aside | unsettled, start, settings)
        return fixed_rule(set_aside, unsettled, table.item_id[rows], z, rule)
    except SettingsError as error:
        return looking_back(set_aside, unsettled, str(error))


def _rule(
    coins: int, z: np.ndarray, unusable: Bools, start: Fit | None, settings: Settings
) -> FixedRule:
    upper = ALARMS_PER_LIMIT * settings.limit
    draw = say("screening.draw") if settings.drawn_at_random else ""
    if settings.first_coins:
        first = slice(0, settings.first_coins)
        return rule_from_first_coins(settings, upper, coins, z[first], unusable[first], draw)
    if start is not None:
        return rule_from_earlier_fit(settings, upper, coins, draw)
    return rule_from_settings(settings, upper, coins, draw)
