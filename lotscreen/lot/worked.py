"""One coin worked by hand, so that another expert can follow every figure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.lot.statement import WorkedLine
from lotscreen.records import Findings, ItemTable
from lotscreen.settings import Settings
from lotscreen.wear import TypeFit, grid
from lotscreen.wear.predict import predictor
from lotscreen.wear.standing import standings
from lotscreen.words import say


@dataclass(frozen=True, slots=True)
class WorkedCoin:
    """The coin to work: its row in table and findings, and the weighing as typed."""

    row: int
    raw: str
    tare_g: float
    sheet: str
    sheet_row: int


def worked_lines(
    coin: WorkedCoin, table: ItemTable, findings: Findings, fit: TypeFit, settings: Settings
) -> tuple[WorkedLine, ...]:
    """Reading, tare, standard, wear, expectation, standard error, z and rate, in order."""
    i = coin.row
    weight, year = float(table.weight_g[i]), float(table.year[i])
    standard = fit.coin_type.weight_g
    at = standings(table.rows(slice(i, i + 1)), fit)[0]
    wear = float(predictor(fit).wear(at) @ grid.WEAR)
    u, step = float(table.weight_u_g[i]), float(table.weight_step_g[i])
    tare = coin.tare_g if np.isfinite(coin.tare_g) else 0.0
    source = fit.coin_type.sources.get("weight_g", fit.coin_type.sources.get("weight", ""))
    used = (
        say("lot.worked.use_figures", end=fit.circulation_end, year=int(year),
            years=float(fit.years_in_use(np.array(year))))
        if np.isfinite(year) else say("lot.worked.use_undated")
    )  # fmt: skip
    line = _line
    return (
        line("reading", say("lot.worked.reading_figures", weight=f"{weight:g}", raw=coin.raw),
             say("lot.worked.reading_source", sheet=coin.sheet, row=coin.sheet_row)),
        line("tare", say("lot.worked.tare_figures", tare=tare) if tare
             else say("lot.worked.tare_none"), ""),
        line("standard", say("lot.worked.standard_figures", name=fit.coin_type.name,
                             weight=standard), source),
        line("use", used, say("lot.worked.use_source")),
        line("expected_wear", say("lot.worked.expected_wear_figures", percent=100 * wear,
                                  grams=wear * standard),
             say("lot.worked.expected_wear_source")),
        line("shift", say("lot.worked.shift_figures", percent=100 * fit.struck.shift),
             say("lot.worked.shift_source")),
        line("expected", say("lot.worked.expected_figures", weight=standard,
                             shift=fit.struck.shift, wear=wear,
                             expected=float(findings.expected_weight_g[i]),
                             low=float(findings.expected_low_g[i]),
                             high=float(findings.expected_high_g[i])), ""),
        line("error", say("lot.worked.error_figures", struck=fit.struck.sd_g, balance=u,
                          step=step), say("lot.worked.error_source")),
        line("z", say("lot.worked.z_figures", z=float(findings.z_weight[i])),
             say("lot.worked.z_source")),
        line("p", say("lot.worked.p_figures", p=float(findings.p_value[i]),
                      limit=settings.limit), say("lot.worked.p_source")),
    )  # fmt: skip


def _line(key: str, figures: str, source: str) -> WorkedLine:
    return WorkedLine(say(f"lot.worked.{key}"), figures, source)
