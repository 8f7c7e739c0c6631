"""What is on file of one type, as rows for the eye: figure, value, source."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lotscreen.quantities import GRAIN_G
from lotscreen.standards.coin_type import CoinType
from lotscreen.words import say


@dataclass(frozen=True, slots=True)
class Figure:
    """One row: what, its value as printed, where it comes from ('' for a name)."""

    label: str
    value: str
    source: str


def describe(coin: CoinType) -> list[Figure]:
    """Every figure on file of ``coin`` with its source, in the order of the glossary:
    names, weight, metal, size, wear, words."""
    return [*_names(coin), *_weights(coin), *_metal(coin), *_size(coin), *_wear(coin)]


def _figure(coin: CoinType, label: str, value: str, cited: str = "") -> Figure:
    source = coin.sources.get(cited, "") if cited else ""
    return Figure(say(f"standards.label.{label}"), value, source)


def _names(coin: CoinType) -> Iterator[Figure]:
    yield _figure(coin, "state", coin.state)
    yield _figure(coin, "unit", coin.unit)
    yield _figure(coin, "face", coin.face)
    first, last = coin.first_year, coin.last_year
    years = say("standards.value.years", first=first, last=last)
    still = say("standards.value.still", first=first)
    yield _figure(coin, "years", still if last is None else years, "years")
    if coin.first_year_note:
        yield _figure(coin, "first_year", coin.first_year_note)
    yield _figure(coin, "words", ", ".join(dict.fromkeys(coin.words)))
    if coin.qualifiers:
        yield _figure(coin, "qualifiers", ", ".join(coin.qualifiers))


def _weights(coin: CoinType) -> Iterator[Figure]:
    weight = _grams(coin.weight_g, coin.weight_grains)
    yield _figure(coin, "weight", weight, "weight_g")
    for remedy in coin.remedies:
        value = say(
            "standards.value.percent_of",
            weight=_grams(remedy.weight_g, remedy.weight_grains),
            percent=100 * remedy.weight_g / coin.weight_g,
        )
        if remedy.from_year is not None:
            value = say("standards.value.remedy_from", year=remedy.from_year, weight=value)
        yield Figure(say("standards.label.remedy"), value, remedy.source)
    if coin.least_current_g is not None:
        least = _grams(coin.least_current_g, coin.least_current_grains)
        yield _figure(coin, "least_current", least, "least_current_g")
    if coin.abrasion_share is not None and coin.abrasion_years is not None:
        yield from _abrasion(coin, coin.abrasion_share, coin.abrasion_years)


def _abrasion(coin: CoinType, share: float, years: int) -> Iterator[Figure]:
    value = say("standards.value.abrasion", percent=100 * share, years=years)
    yield _figure(coin, "abrasion", value, "abrasion_share")
    lowest = coin.lowest_current_g(years)
    if lowest is not None:
        value = say(
            "standards.value.after_years", grams=lowest, grains=lowest / GRAIN_G, years=years
        )
        yield _figure(coin, "lowest_current", value, "abrasion_share")


def _metal(coin: CoinType) -> Iterator[Figure]:
    yield _figure(coin, "metal", coin.metal)
    if coin.fineness is not None:
        value = say(
            "standards.value.fineness", fineness=fineness(coin), metal=coin.fine_metal or ""
        )
        yield _figure(coin, "fineness", value.strip(), "fineness")
    if coin.fineness_remedy is not None:
        value = say("standards.value.per_mille", value=1000 * coin.fineness_remedy)
        yield _figure(coin, "fineness_remedy", value, "fineness_remedy")
    value = say("standards.value.density", density=coin.density_g_cm3, sd=coin.density_sd_g_cm3)
    yield _figure(coin, "density", value, "density_g_cm3")
    magnet = "attracted" if coin.magnetic else "not_attracted"
    yield _figure(coin, "magnet", say(f"standards.value.{magnet}"), "magnetic")


def _size(coin: CoinType) -> Iterator[Figure]:
    for label in ("diameter", "thickness"):
        value = getattr(coin, f"{label}_mm")
        if value is not None:
            text = say("standards.value.millimetres", value=value)
            yield _figure(coin, label, text, f"{label}_mm")


def _wear(coin: CoinType) -> Iterator[Figure]:
    value = say("standards.value.wear", percent=100 * coin.wear_per_year, log_sd=coin.wear_log_sd)
    yield _figure(coin, "wear", value, "wear_per_year")
    yield _figure(coin, "circulation_end", str(coin.circulation_end), "circulation_end")


def _grams(grams: float, grains: float | None) -> str:
    """Grams, with the source's own grains, and how far its two figures are apart."""
    if grains is None:
        return say("standards.value.grams", grams=grams)
    text = say("standards.value.grams_grains", grams=grams, grains=f"{grains:.8g}")
    turned = grains * GRAIN_G
    apart = abs(round(turned, 5) - round(grams, 5))
    if apart < 0.5e-5:
        return text
    return f"{text}; " + say(
        "standards.value.apart", grains=f"{grains:.8g}", grams=turned, apart=apart
    )


def fineness(coin: CoinType) -> str:
    """'.900', '.91666', or '' where no fineness is on file."""
    if coin.fineness is None:
        return ""
    digits = f"{coin.fineness:.5f}".rstrip("0")
    whole, _, part = digits.partition(".")
    return f"{whole if whole != '0' else ''}.{part:0<3}"
