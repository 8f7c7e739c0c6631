"""``lotscreen second``: second tests taken together with what the screen says."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lotscreen.cli.check_option import parsed_checks
from lotscreen.cli.common import emit, guarded
from lotscreen.cli.exit_codes import ExitCode
from lotscreen.cli.screened import Asked, places_of, screened
from lotscreen.cli.sheet_options import (
    AsJson,
    Checks,
    Mapping,
    OneLot,
    SettingsFile,
    Sheets,
    Standards,
    Types,
    Unit,
)
from lotscreen.words import phrase, say

if TYPE_CHECKING:
    from lotscreen.cli.screened import Screened

SCHEMA = "1.0"


def second_command(
    sheets: Sheets,
    tests: Annotated[
        list[Path], typer.Option("--tests", metavar="FILE", help=say("second_tests.cli.tests"))
    ],
    types: Types = None,
    standards: Standards = None,
    settings: SettingsFile = None,
    check: Checks = None,
    mapping: Mapping = None,
    unit: Unit = None,
    lot: OneLot = None,
    as_json: AsJson = False,
) -> None:
    """Say what the tests leave of each coin's explanations; help is in the table of words."""
    checks = parsed_checks(check or [])
    with guarded():
        found = screened(Asked(
            tuple(sheets), tuple(types or ()), tuple(standards or ()), settings, checks, mapping,
            unit, lot, tuple(tests),
        ))  # fmt: skip
        emit(_json(found) if as_json else _text(found))
        if found.not_taken:
            raise typer.Exit(ExitCode.DONE_WITH_DOUBTS)


def _text(found: Screened) -> str:
    from lotscreen.report.screen_lines import wrap
    from lotscreen.second_tests.told import coin_sentences

    places = places_of(found.screening)
    findings = found.screening.findings
    sentences = [
        say("second_tests.says.head", tests=found.results, coins=len(found.lot.tested),
            not_taken=len(found.not_taken)),
        *found.not_taken,
    ]  # fmt: skip
    lines = [line for sentence in sentences for line in wrap(sentence)]
    for coin in found.lot.tested:
        head = say(
            "second_tests.says.coin",
            coin=places[coin.row],
            finding=findings.finding[coin.row],
            reason=findings.reason[coin.row],
        )
        lines += ["", *wrap(head)]
        lines += [line for said in coin_sentences(coin) for line in wrap(said)]
    if not found.lot.tested:
        lines += wrap(phrase("second_tests.says.none"))
    lines += [
        "",
        *wrap(phrase("second_tests.says.close")),
        *wrap(phrase("second_tests.says.assumed")),
    ]
    return "\n".join(lines) + "\n"


def _json(found: Screened) -> str:
    import json

    from lotscreen.second_tests.explained import shares_by_mechanism
    from lotscreen.second_tests.told import coin_sentences

    items = found.screening.intake.items
    coins: list[dict[str, Any]] = [
        {
            "coin_id": str(items["coin_id"].iloc[coin.row]),
            "item_id": str(items["item_id"].iloc[coin.row]),
            "finding": str(found.screening.findings.finding[coin.row]),
            "tests": [
                {"test": t.test, "instrument": t.instrument, "repeats": t.repeats,
                 "value": _number(t.shown), "sd": _number(t.shown_sd), "answer": t.word,
                 "fits": t.fits, "admits": list(t.admits), "log10_lr": _number(t.log10_lr)}
                for t in coin.said
            ],
            "fits_together": coin.fits_together,
            "before": _rounded(shares_by_mechanism(coin.hypotheses, coin.before)),
            "after": _rounded(shares_by_mechanism(coin.hypotheses, coin.after)),
            "said": list(coin_sentences(coin)),
        }
        for coin in found.lot.tested
    ]  # fmt: skip
    told = {"schema": SCHEMA, "coins": coins, "not_taken": list(found.not_taken)}
    return json.dumps(told, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _rounded(shares: dict[str, float]) -> dict[str, float]:
    return {key: round(share, 6) for key, share in shares.items() if share >= 1e-6}


def _number(value: float) -> float | None:
    return float(f"{value:.6g}") if value == value else None
