"""The one orchestrator: the only place that knows the order of the steps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lotscreen.display import TypeDisplay
from lotscreen.lot.statement import LotStatement
from lotscreen.records import Findings, Intake, ItemTable
from lotscreen.sequential.running import RunningChart
from lotscreen.settings import Settings
from lotscreen.standards import StandardsTable
from lotscreen.wear import Fit


@dataclass(frozen=True, slots=True)
class Screening:
    """The whole result of one run; reports and tables are made from it alone.

    ``table`` and ``findings`` have one row an item, same order, groups, bags and checks
    included (their finding is ''). ``lots``, ``displays`` and ``running`` are by lot id,
    in the order of first appearance in the sheet.
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
