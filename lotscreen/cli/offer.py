"""``lotscreen offer``: the highest sensible bid at a timed spot."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lotscreen import __version__
from lotscreen.cli.check_option import parsed_checks
from lotscreen.cli.common import emit, guarded
from lotscreen.cli.exit_codes import ExitCode
from lotscreen.cli.money_options import AtHand, Currency, SpotAt, TermsFile
from lotscreen.cli.screened import Asked, screened
from lotscreen.cli.sheet_options import (
    AsJson,
    Checks,
    Mapping,
    OneLot,
    SettingsFile,
    Standards,
    TestSheets,
    Unit,
)
from lotscreen.words import say

if TYPE_CHECKING:
    from lotscreen.money.full_offer import FullOffer
    from lotscreen.money.terms import Spot, Terms


@dataclass(frozen=True, slots=True)
class _Bag:
    """Options about coins that were not measured singly."""

    coins: int | None
    net_g: float | None
    net_sd: float
    measured: int
    departing: int


def offer_command(
    spot: Annotated[
        list[str], typer.Option("--spot", metavar="METAL=PRICE", help=say("money.cli.spot"))
    ],
    currency: Currency,
    at: SpotAt,
    sheets: Annotated[
        list[Path] | None, typer.Argument(metavar="[SHEET...]", help=say("cli.screen.sheets"))
    ] = None,
    side: Annotated[
        str, typer.Option("--side", metavar="SIDE", help=say("money.cli.side"))
    ] = "mid",
    spread: Annotated[
        float | None, typer.Option("--spread", metavar="PERCENT", help=say("money.cli.spread"))
    ] = None,
    fixed: Annotated[
        float | None, typer.Option("--fixed", metavar="AMOUNT", help=say("money.cli.fixed"))
    ] = None,
    work: Annotated[
        float | None, typer.Option("--work", metavar="AMOUNT", help=say("money.cli.work"))
    ] = None,
    valid: Annotated[
        float | None, typer.Option("--valid", metavar="MINUTES", help=say("money.cli.valid"))
    ] = None,
    terms: TermsFile = None,
    have: AtHand = None,
    types: Annotated[
        list[str] | None, typer.Option("--type", metavar="TYPE", help=say("money.cli.type"))
    ] = None,
    coins: Annotated[
        int | None, typer.Option("--coins", metavar="N", min=1, help=say("money.cli.coins"))
    ] = None,
    net: Annotated[
        float | None, typer.Option("--net", metavar="G", help=say("money.cli.net_weight"))
    ] = None,
    net_sd: Annotated[
        float, typer.Option("--net-sd", metavar="G", min=0, help=say("money.cli.net_sd"))
    ] = 1.0,
    measured: Annotated[
        int, typer.Option("--measured", metavar="N", min=0, help=say("money.cli.measured"))
    ] = 0,
    departing: Annotated[
        int, typer.Option("--departing", metavar="N", min=0, help=say("money.cli.departing"))
    ] = 0,
    tests: TestSheets = None,
    standards: Standards = None,
    settings: SettingsFile = None,
    check: Checks = None,
    mapping: Mapping = None,
    unit: Unit = None,
    lot: OneLot = None,
    pdf: Annotated[
        Path | None, typer.Option("--pdf", metavar="FILE", help=say("money.cli.pdf"))
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Reckon what may be paid; the help text is in the table of words."""
    asked = Asked(
        tuple(sheets or ()), tuple(types or ()), tuple(standards or ()), settings,
        parsed_checks(check or []), mapping, unit, lot, tuple(tests or ()),
    )  # fmt: skip
    bag = _Bag(coins, net, net_sd, measured, departing)
    _check_options(asked, bag)
    with guarded():
        # imported here, so that --help and a mistyped option answer at once
        from lotscreen.money.terms import load_terms, spot_of_texts, spread_of_percent

        share = None if spread is None else spread_of_percent(spread)
        given = {"spread_silver": share, "spread_gold": share, "fixed": fixed, "work": work,
                 "valid_minutes": valid}  # fmt: skip
        own_spot = spot_of_texts(tuple(spot), currency, at, side)
        own_terms = load_terms(terms, given)
        found, not_taken = _found(asked, bag, own_spot, own_terms, tuple(have or ()))
        if pdf is not None:
            # typesetting and drawing are loaded where they are asked for
            from lotscreen.report.offer_pdf import write_offer_pdf

            write_offer_pdf(found, __version__, pdf)
        emit(_json(found, not_taken) if as_json else _text(found, not_taken))
        if not_taken:
            raise typer.Exit(ExitCode.DONE_WITH_DOUBTS)


def _check_options(asked: Asked, bag: _Bag) -> None:
    if asked.sheets:
        if (bag.coins is None) != (bag.net_g is None) or bag.measured or bag.departing:
            raise typer.BadParameter(say("money.cli.bag_with_sheet"))
        return
    if asked.tests:
        raise typer.BadParameter(say("money.cli.tests_want_sheet"))
    if not asked.types or bag.coins is None or bag.net_g is None:
        raise typer.BadParameter(say("money.cli.bag_wants"))
    if len(asked.types) > 1:
        raise typer.BadParameter(say("money.cli.one_type", n=len(asked.types)))


def _found(
    asked: Asked, bag: _Bag, spot: Spot, terms: Terms, have: tuple[str, ...]
) -> tuple[FullOffer, tuple[str, ...]]:
    from lotscreen.money.full_offer import BagAsked, full_offer_of_bag, full_offer_of_lot

    if not asked.sheets:
        from lotscreen.cli.plan import type_of_text

        whole = BagAsked(bag.coins or 0, bag.net_g or 0.0, bag.net_sd, bag.measured, bag.departing)
        return full_offer_of_bag(type_of_text(asked.types[0]), whole, spot, terms), ()
    got = screened(asked)
    loose = None
    if bag.coins is not None and bag.net_g is not None:
        loose = BagAsked(bag.coins, bag.net_g, bag.net_sd, 0, 0)
    screening = got.screening
    names = ", ".join(source.name for source in screening.intake.sources)
    found = full_offer_of_lot(
        names, got.lot.coins, screening.table, screening.findings, screening.fit, spot, terms,
        have, loose, bool(screening.settings.drawn_at_random),
    )  # fmt: skip
    return found, got.not_taken


def _text(found: FullOffer, not_taken: tuple[str, ...]) -> str:
    from lotscreen.report.offer_text import offer_text

    return offer_text(found, not_taken)


def _json(found: FullOffer, not_taken: tuple[str, ...]) -> str:
    import json

    from lotscreen.report.offer_text import offer_figures

    told: dict[str, Any] = {**offer_figures(found), "not_taken": list(not_taken)}
    return json.dumps(told, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
