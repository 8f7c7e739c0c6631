"""What the user says of money: a timed spot, spread, costs; each default declared as assumed."""

from __future__ import annotations

import datetime as dt
import math
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from pathlib import Path
from typing import Any

from lotscreen.records import SettingsError
from lotscreen.words import say

_ASSUMED = "assumed"
_PERCENT = 100.0
SIDES = ("mid", "bid", "ask")


@dataclass(frozen=True, slots=True)
class Spot:
    """The price that the user typed in: by metal, per troy ounce of fine metal, in
    ``currency``, as of ``at`` (with or without an offset from UTC), market side ``side``."""

    prices: Mapping[str, float]
    currency: str
    at: dt.datetime
    side: str = "mid"

    def until(self, minutes: float) -> dt.datetime:
        """When an offer of this spot that holds for ``minutes`` ends."""
        return self.at + dt.timedelta(minutes=minutes)


def spot_of_texts(texts: tuple[str, ...], currency: str, at: str, side: str) -> Spot:
    """The spot from a command's words, 'silver=30'; SettingsError says what to write."""
    prices: dict[str, float] = {}
    for text in texts:
        metal, sign, price = text.partition("=")
        try:
            value = float(price)
        except ValueError:
            value = math.nan
        if not sign or not metal.strip() or not (0 < value < 1e7):
            raise SettingsError(say("money.error.spot", text=text))
        key = metal.strip().casefold()
        if key in prices:
            raise SettingsError(say("money.error.spot_twice", metal=key))
        prices[key] = value
    try:
        when = dt.datetime.fromisoformat(at.strip())
    except ValueError as error:
        raise SettingsError(say("money.error.at", text=at)) from error
    if side not in SIDES:
        raise SettingsError(say("money.error.side", text=side, known=", ".join(SIDES)))
    return Spot(prices, currency.strip(), when, side)


def _term(default: float, unit: str, low: float, high: float, says: str, source: str) -> Any:
    meta = {"unit": unit, "low": low, "high": high, "says": says, "source": source}
    return field(default=default, metadata=meta)


@dataclass(frozen=True, slots=True)
class Terms:
    """The user's own terms. Spreads and minutes are common practice without a source; every
    default is assumed and printed as such."""

    # fmt: off
    spread_silver: float = _term(
        0.05, "share of melt", 0.0, 0.9, "what is kept of the melt of silver",
        "2-10 %, common practice, no source; the value is assumed",
    )
    spread_gold: float = _term(
        0.02, "share of melt", 0.0, 0.9, "what is kept of the melt of gold",
        "1-4 %, common practice, no source; the value is assumed",
    )
    fixed: float = _term(
        0.0, "currency", 0.0, 1e9, "fixed costs of the purchase", "the user's own",
    )
    work: float = _term(
        0.0, "currency", 0.0, 1e9, "work on this lot, in money", "the user's own",
    )
    wage: float = _term(
        30.0, "currency an hour", 0.0, 1e6, "what an hour at the table costs", _ASSUMED,
    )
    lost_custom: float = _term(
        0.0, "currency", 0.0, 1e6, "what refusing one good coin costs besides its margin", _ASSUMED,
    )
    valid_minutes: float = _term(
        30.0, "minutes", 1.0, 1e5, "how long an offer holds from the time of the spot", _ASSUMED,
    )
    prior_departing: float = _term(
        0.01, "share of coins", 1e-5, 0.5,
        "coins not what they are said to be, before this lot is seen", _ASSUMED,
    )
    prior_coins: float = _term(
        50.0, "coins", 1.0, 1e6, "how many coins that opinion weighs as much as", _ASSUMED,
    )
    fineness_sd: float = _term(
        0.0005, "share of the weight", 0.0, 0.05,
        "one standard deviation of the mean fineness of many coins of a type",
        "a fraction of the remedies of 3-4 per mille (silver), 1-2 (gold); assumed",
    )
    bad_case: float = _term(
        0.05, "probability", 0.001, 0.5, "the bad case: this share of cases is worse", _ASSUMED,
    )
    loss_multiple: float = _term(
        3.0, "times the price", 0.0, 100.0,
        "what a wrong piece sold costs, in times of its price (auction)",
        "3-10, judgement without a source; assumed",
    )
    commission: float = _term(
        0.15, "share of the price", 0.0, 1.0, "what a sale earns (auction)",
        "10-20 %, judgement without a source; assumed",
    )
    doubt: float = _term(
        0.02, "probability", 0.0, 1.0, "that an unmeasured lot is not as described", _ASSUMED,
    )
    minutes_a_coin: float = _term(
        1.0, "minutes", 0.01, 1e4, "measuring one coin of a lot, with writing it down", _ASSUMED,
    )
    # fmt: on

    def __post_init__(self) -> None:
        for f in fields(self):
            value = getattr(self, f.name)
            low, high = f.metadata["low"], f.metadata["high"]
            number = isinstance(value, int | float) and not isinstance(value, bool)
            if not number or not low <= value <= high:
                raise SettingsError(
                    say("money.error.range", name=f.name, value=value, low=low, high=high)
                )

    def spread(self, metal: str) -> float:
        """The spread of a metal; that of silver for one that has none of its own."""
        return self.spread_gold if metal == "gold" else self.spread_silver


def spread_of_percent(percent: float) -> float:
    """A spread typed in per cent, as a share of melt; SettingsError in the typed unit."""
    bounds = {f.name: f.metadata for f in fields(Terms)}["spread_silver"]
    low, high = bounds["low"], bounds["high"]
    if not low <= percent / _PERCENT <= high:
        raise SettingsError(say("money.error.spread", value=percent, low=_PERCENT * low,
                                high=_PERCENT * high))  # fmt: skip
    return percent / _PERCENT


def load_terms(path: Path | None, overrides: Mapping[str, float | None]) -> Terms:
    """Built in < the TOML file at ``path`` < ``overrides`` (None values are no override)."""
    values: dict[str, Any] = {}
    if path is not None:
        try:
            values.update(tomllib.loads(path.read_text(encoding="utf-8")))
        except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
            raise SettingsError(say("money.error.file", file=path.name, why=error)) from error
    values.update({k: v for k, v in overrides.items() if v is not None})
    names = [f.name for f in fields(Terms)]
    unknown = sorted(set(values) - set(names))
    if unknown:
        raise SettingsError(say("money.error.unknown", name=unknown[0], known=", ".join(names)))
    return replace(Terms(), **values)


OF_OFFER = (
    "spread_silver", "spread_gold", "fixed", "work", "wage", "lost_custom", "valid_minutes",
    "prior_departing", "prior_coins", "fineness_sd", "bad_case",
)  # fmt: skip
"""Terms that an offer hangs on."""

OF_NEXT = ("spread_silver", "spread_gold", "wage", "lost_custom", "prior_departing", "prior_coins")
OF_LOTS = ("wage", "loss_multiple", "doubt", "minutes_a_coin")
OF_SALE = ("wage", "loss_multiple", "commission", "lost_custom", "prior_departing", "prior_coins")
"""Terms that the next tests hang on (at melt, at a price), and the order of lots."""


def told_terms(
    terms: Terms, names: Sequence[str] = OF_OFFER
) -> tuple[tuple[str, str, str, str], ...]:
    """Each of the terms as (what it is, value, unit, where it is from), the user's own
    named so."""
    own = say("money.own")
    return tuple(
        (str(f.metadata["says"]), f"{getattr(terms, f.name):g}", str(f.metadata["unit"]),
         str(f.metadata["source"]) if getattr(terms, f.name) == f.default else own)
        for f in fields(Terms)
        if f.name in names
    )  # fmt: skip
