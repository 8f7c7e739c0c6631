"""The standards this report leans on, every figure with its source."""

from __future__ import annotations

from collections.abc import Iterator

from lotscreen.report.blocks import Block, Column, Heading, Paragraph, Table
from lotscreen.report.numerals import fixed, percent
from lotscreen.report.view import ReportView
from lotscreen.standards import CoinType
from lotscreen.words import phrase, say, table

_Row = tuple[str, str, str]


def build(view: ReportView) -> list[Block]:
    """One table a type that a coin of these lots was judged by."""
    standards = view.screening.standards
    used = sorted({str(key) for lot in view.lots for key in lot.coins["type_key"] if key})
    blocks: list[Block] = [
        Heading(phrase("report.standards.heading"), level=1, new_page=True),
        Paragraph(say("report.standards.intro", digest=standards.digest)),
    ]
    if not used:
        blocks.append(Paragraph(phrase("report.standards.none")))
    heads = table("report_columns")["standards"]
    columns = (Column(heads[0], share=3), Column(heads[1], share=3), Column(heads[2], share=5))
    for key in used:
        coin_type = standards.get(key)
        rows = tuple(_figures(coin_type))
        summary = say("report.standards.summary", type=coin_type.name)
        blocks += [
            Heading(f"{coin_type.name} ({coin_type.key})"),
            Table(columns, rows, summary, small=True),
        ]
    return blocks


def _figures(coin: CoinType) -> Iterator[_Row]:
    """What is on file, row by row: figure, value, source."""
    yield _row(coin, "years", "years", _years(coin))
    yield _row(coin, "weight_g", "weight", _in_grains(coin.weight_g, coin.weight_grains))
    for remedy in coin.remedies:
        since = "" if remedy.from_year is None else f" ({remedy.from_year}–)"
        value = _in_grains(remedy.weight_g, remedy.weight_grains)
        yield phrase("report.standards.figure.remedy") + since, f"± {value}", remedy.source
    if coin.least_current_g is not None:
        value = _in_grains(coin.least_current_g, coin.least_current_grains)
        yield _row(coin, "least_current_g", "least_current", value)
    if coin.abrasion_share is not None:
        allowed = percent(100 * coin.abrasion_share, 2)
        value = say("report.standards.abrasion", share=allowed, years=coin.abrasion_years)
        yield _row(coin, "abrasion_share", "abrasion", value)
    yield from _metal(coin)
    if coin.diameter_mm is not None:
        yield _row(coin, "diameter_mm", "diameter", f"{coin.diameter_mm:g} mm")
    if coin.thickness_mm is not None:
        yield _row(coin, "thickness_mm", "thickness", f"{coin.thickness_mm:g} mm")
    wear = say(
        "report.standards.wear", loss=percent(100 * coin.wear_per_year, 3),
        factor=fixed(2.718281828 ** coin.wear_log_sd, 1),
    )  # fmt: skip
    yield _row(coin, "wear_per_year", "wear", wear)
    yield _row(coin, "circulation_end", "circulation_end", str(coin.circulation_end))


def _metal(coin: CoinType) -> Iterator[_Row]:
    if coin.fineness is not None:
        value = f"{coin.fineness:.4g} {coin.fine_metal or ''}".strip()
        if coin.fineness_remedy is not None:
            value = f"{value} ± {coin.fineness_remedy:.4g}"
        yield _row(coin, "fineness", "fineness", value)
    density = f"{fixed(coin.density_g_cm3, 2)} ± {fixed(coin.density_sd_g_cm3, 2)} g/cm³"
    yield _row(coin, "density_g_cm3", "density", density)
    magnet = phrase(f"report.standards.magnet.{'yes' if coin.magnetic else 'no'}")
    yield _row(coin, "magnetic", "magnet", magnet)


def _row(coin: CoinType, source: str, name: str, value: str) -> _Row:
    return phrase(f"report.standards.figure.{name}"), value, coin.sources.get(source, "")


def _in_grains(grams: float, grains: float | None) -> str:
    value = f"{grams:.5f}".rstrip("0").rstrip(".") + " g"
    return value if grains is None else f"{value} ({grains:g} gr)"


def _years(coin: CoinType) -> str:
    return f"{coin.first_year}–{coin.last_year or ''}"
