"""``lotscreen next``: which test on which coin, which lot next, or that nothing is worth it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lotscreen.cli.check_option import parsed_checks
from lotscreen.cli.common import emit, guarded
from lotscreen.cli.exit_codes import ExitCode
from lotscreen.cli.money_options import AtHand, Currency, SpotAt, TermsFile
from lotscreen.cli.screened import Asked, places_of, screened
from lotscreen.cli.sheet_options import (
    AsJson,
    Checks,
    Mapping,
    OneLot,
    SettingsFile,
    Standards,
    TestSheets,
    Types,
    Unit,
)
from lotscreen.words import say

if TYPE_CHECKING:
    from lotscreen.cli.screened import Screened
    from lotscreen.money.next_tests import NextTests
    from lotscreen.money.stake import Stake
    from lotscreen.money.terms import Spot, Terms
    from lotscreen.money.triage import Triage
    from lotscreen.report.next_text import Answer
    from lotscreen.second_tests.explained import Explained


@dataclass(frozen=True, slots=True)
class _Wanted:
    """Options besides the sheets."""

    lots: Path | None
    minutes: float | None
    have: tuple[str, ...]
    most: int
    sells_for: float | None


def next_command(
    sheets: Annotated[
        list[Path] | None, typer.Argument(metavar="[SHEET...]", help=say("cli.screen.sheets"))
    ] = None,
    spot: Annotated[
        list[str] | None, typer.Option("--spot", metavar="METAL=PRICE", help=say("money.cli.spot"))
    ] = None,
    currency: Currency = "",
    at: SpotAt = "",
    lots: Annotated[
        Path | None, typer.Option("--lots", metavar="FILE", help=say("money.cli.lots"))
    ] = None,
    minutes: Annotated[
        float | None,
        typer.Option("--minutes", metavar="N", min=0, help=say("money.cli.minutes")),
    ] = None,
    sells_for: Annotated[
        float | None,
        typer.Option("--sells-for", metavar="AMOUNT", min=0, help=say("money.cli.sells_for")),
    ] = None,
    have: AtHand = None,
    terms: TermsFile = None,
    most: Annotated[
        int, typer.Option("--most", metavar="N", min=1, help=say("money.cli.most"))
    ] = 15,
    types: Types = None,
    tests: TestSheets = None,
    standards: Standards = None,
    settings: SettingsFile = None,
    check: Checks = None,
    mapping: Mapping = None,
    unit: Unit = None,
    lot: OneLot = None,
    as_json: AsJson = False,
) -> None:
    """Say what to do next; the help text is in the table of words."""
    asked = Asked(
        tuple(sheets or ()), tuple(types or ()), tuple(standards or ()), settings,
        parsed_checks(check or []), mapping, unit, lot, tuple(tests or ()),
    )  # fmt: skip
    if not asked.sheets and lots is None:
        raise typer.BadParameter(say("money.cli.next_wants"))
    at_melt = bool(spot and currency and at)
    if asked.sheets and not at_melt and sells_for is None and lots is None:
        raise typer.BadParameter(say("money.cli.spot_wanted"))
    wanted = _Wanted(lots, minutes, tuple(have or ()), most, sells_for)
    with guarded():
        # imported here, so that --help and a mistyped option answer at once
        from lotscreen.money.terms import load_terms, spot_of_texts
        from lotscreen.report.next_text import next_figures, next_text

        own_spot = spot_of_texts(tuple(spot), currency, at, "mid") if spot else None
        answer = _answer(asked, wanted, own_spot, load_terms(terms, {}))
        emit(next_figures(answer) if as_json else next_text(answer))
        if answer.not_taken:
            raise typer.Exit(ExitCode.DONE_WITH_DOUBTS)


def _answer(asked: Asked, wanted: _Wanted, spot: Spot | None, terms: Terms) -> Answer:
    from lotscreen.report.next_text import Answer

    got = screened(asked) if asked.sheets else None
    lots = None
    if wanted.lots is not None:
        lots = _next_lots(wanted.lots, got, wanted.minutes, terms)
    return Answer(
        coins=None if got is None else _next_tests(got, wanted, spot, terms),
        lots=lots,
        places=() if got is None else tuple(places_of(got.screening)),
        spot=spot,
        terms=terms,
        minutes=wanted.minutes,
        most=wanted.most,
        not_taken=() if got is None else got.not_taken,
        sells_for=wanted.sells_for,
    )


def _next_lots(listed: Path, got: Screened | None, minutes: float | None, terms: Terms) -> Triage:
    """The lots to measure; what was screened says which are done, and the doubt of others."""
    from lotscreen.money.rate import belief_of_coins
    from lotscreen.money.triage import read_lots, triage

    doubt, done = terms.doubt, frozenset[str]()
    if got is not None:
        table = got.screening.table
        done = frozenset(str(name) for name in table.lot[table.weight_n > 0] if name)
        if got.lot.coins:
            doubt = belief_of_coins(terms, tuple(got.lot.coins.values())).mean
    return triage(read_lots(listed), terms, doubt, minutes, done)


def _next_tests(
    got: Screened, wanted: _Wanted, spot: Spot | None, terms: Terms
) -> NextTests | None:
    """Each coin at the price that it should sell for, or at melt; None where neither is said."""
    from lotscreen.money.full_offer import kinds_named
    from lotscreen.money.next_tests import next_tests

    if wanted.sells_for is not None:
        stakes = _at_price(got, wanted.sells_for, terms)
    elif spot is not None:
        stakes = _at_melt(got, spot, terms)
    else:
        return None
    return next_tests(stakes, terms, kinds_named(wanted.have), wanted.minutes)


def _at_melt(got: Screened, spot: Spot, terms: Terms) -> list[Stake]:
    from lotscreen.money.offer import priced
    from lotscreen.money.stake import stake_at_melt
    from lotscreen.money.worth import coins_worth

    screening = got.screening
    types = {key: own.coin_type for key, own in screening.fit.types.items()}
    worths = coins_worth(_composed(got, terms), screening.table, screening.findings, types)
    priced(spot, [w.metal for w in worths])
    return [stake_at_melt(w, spot, terms) for w in worths]


def _at_price(got: Screened, price: float, terms: Terms) -> list[Stake]:
    from lotscreen.money.stake import stake_at_price

    types = got.screening.fit.types
    return [
        stake_at_price(own, types[key].coin_type, price, terms)
        for key, own in _composed(got, terms).items()
    ]


def _composed(got: Screened, terms: Terms) -> dict[str, Explained]:
    from lotscreen.money.composition import composed
    from lotscreen.money.full_offer import measured_fully

    screening = got.screening
    at_random = bool(screening.settings.drawn_at_random)
    apart = None if at_random else measured_fully(screening.table)
    return composed(got.lot.coins, terms, apart)
