"""The figures on file against the statutes and tables they are taken from."""

from __future__ import annotations

import pytest
from reference import (
    act_1837,
    act_1873,
    coinage_act_1870,
    euro,
    german_empire,
    latin_union,
    us_modern,
    wear_rates,
)

from lotscreen.standards import CoinType, StandardsTable, load_standards

STANDARDS = load_standards()
PRINTED_GRAMS = 0.5e-5


def _us(unit: str, year: int) -> CoinType:
    """The type that a sheet's 'US <unit>' of ``year`` leads to."""
    found = STANDARDS.resolve(f"US {unit}", year)
    assert found.key, found.note
    return STANDARDS.get(found.key)


@pytest.mark.parametrize("unit", act_1873.GOLD_GRAINS)
def test_gold_of_1873(unit: str) -> None:
    standard, deviation = act_1873.GOLD_GRAINS[unit]
    coin = _us(unit, 1880)
    assert coin.weight_g == pytest.approx(standard * act_1873.GRAIN_G, abs=1e-12)
    assert coin.remedy_g(1880) == pytest.approx(deviation * act_1873.GRAIN_G, abs=1e-12)
    assert coin.fineness == act_1873.FINENESS


@pytest.mark.parametrize("unit", act_1873.LEAST_AFTER_20_YEARS_GRAINS)
def test_least_weight_of_gold_after_twenty_years(unit: str) -> None:
    least = _us(unit, 1880).lowest_current_g(20, 1880)
    expected = act_1873.LEAST_AFTER_20_YEARS_GRAINS[unit] * act_1873.GRAIN_G
    assert least == pytest.approx(expected, abs=1e-9)


def test_the_gold_dollar_may_be_struck_lighter_than_it_may_wear() -> None:
    dollar = _us("gold dollar", 1880)
    abrasion_g = act_1873.GOLD_DOLLAR_ABRASION_LIMIT_GRAINS * act_1873.GRAIN_G
    assert dollar.abrasion_share is not None
    assert dollar.weight_g * (1 - dollar.abrasion_share) == pytest.approx(abrasion_g, abs=1e-9)
    lowest = dollar.lowest_current_g(20, 1880)
    assert lowest is not None
    assert lowest < abrasion_g


@pytest.mark.parametrize("years", act_1873.DOUBLE_EAGLE_LOSS_GRAINS)
def test_abrasion_is_allowed_ratably(years: int) -> None:
    eagle = _us("double eagle", 1880)
    allowed = act_1873.DOUBLE_EAGLE_LOSS_GRAINS[years] * act_1873.GRAIN_G
    remedy = eagle.remedy_g(1880)
    lowest = eagle.lowest_current_g(years, 1880)
    assert remedy is not None
    assert lowest == pytest.approx(eagle.weight_g - max(allowed, remedy), abs=1e-9)


@pytest.mark.parametrize("unit", act_1873.SILVER_GRAMS)
def test_silver_of_1873_is_set_in_grams(unit: str) -> None:
    grams, deviation = act_1873.SILVER_GRAMS[unit]
    coin = _us(unit, 1880)
    assert coin.weight_g == grams
    assert coin.remedy_g(1880) == pytest.approx(deviation * act_1873.GRAIN_G, abs=1e-12)
    assert (coin.fineness, coin.metal) == (act_1873.FINENESS, "silver")


def test_trade_dollar_and_minor_coins_of_1873() -> None:
    rows = {"trade dollar": act_1873.TRADE_DOLLAR_GRAINS, **act_1873.MINOR_GRAINS}
    for unit, (standard, deviation) in rows.items():
        coin = _us(unit, 1875)
        assert coin.weight_g == pytest.approx(standard * act_1873.GRAIN_G, abs=1e-12)
        assert coin.remedy_g(1875) == pytest.approx(deviation * act_1873.GRAIN_G, abs=1e-12)


@pytest.mark.parametrize("unit", act_1837.SILVER_GRAINS)
def test_silver_of_1837(unit: str) -> None:
    standard, deviation = act_1837.SILVER_GRAINS[unit]
    coin = _us(f"silver {unit}", 1845)
    assert coin.weight_g == pytest.approx(standard * act_1873.GRAIN_G, abs=1e-12)
    assert coin.remedy_g(1845) == pytest.approx(deviation * act_1873.GRAIN_G, abs=1e-12)


def test_the_remedy_belongs_to_the_date() -> None:
    eagle, dime = _us("double eagle", 1860), _us("dime", 1845)
    grain = act_1873.GRAIN_G
    assert eagle.remedy_g(1860) == pytest.approx(act_1837.GOLD_DEVIATION_GRAINS * grain)
    assert eagle.remedy_g(1873) == pytest.approx(0.5 * grain)
    assert dime.remedy_g(1845) == pytest.approx(_us("dime", 1880).remedy_g(1880) / 3)  # type: ignore[operator]


@pytest.mark.parametrize("key", coinage_act_1870.SCHEDULE)
def test_schedule_of_1870(key: str) -> None:
    grains, grams, least_grains, least, remedy_grains, remedy = coinage_act_1870.SCHEDULE[key]
    coin = STANDARDS.get(key)
    assert (coin.weight_grains, coin.weight_g) == (grains, grams)
    assert (coin.least_current_grains, coin.least_current_g) == (least_grains, least)
    assert coin.remedy_g(1880) == remedy
    in_1870 = next(r for r in coin.remedies if r.from_year == 1870)
    assert in_1870.weight_grains == remedy_grains


@pytest.mark.parametrize("key", coinage_act_1870.SMALL_SILVER)
def test_small_silver_of_1870(key: str) -> None:
    grains, grams, remedy_grains = coinage_act_1870.SMALL_SILVER[key]
    coin = STANDARDS.get(key)
    assert (coin.weight_grains, coin.weight_g) == (grains, grams)
    assert coin.remedies[-1].weight_grains == remedy_grains


def test_fineness_of_1870() -> None:
    sovereign, shilling = STANDARDS.get("uk-sovereign-1817"), STANDARDS.get("uk-shilling-1816")
    assert (sovereign.fineness, sovereign.fineness_remedy) == coinage_act_1870.GOLD_FINENESS
    assert (shilling.fineness, shilling.fineness_remedy) == coinage_act_1870.SILVER_FINENESS


def test_the_sovereign_is_cut_from_the_pound_troy() -> None:
    grains = 20 * 5760 / coinage_act_1870.SOVEREIGNS_FROM_20_POUNDS
    assert STANDARDS.get("uk-sovereign-1817").weight_grains == pytest.approx(grains, abs=1e-5)


def test_remedies_of_gold_by_date() -> None:
    sovereign = STANDARDS.get("uk-sovereign-1817")
    half = STANDARDS.get("uk-half-sovereign-1817")
    of_1848 = coinage_act_1870.SOVEREIGN_REMEDY_1848_GRAINS
    assert sovereign.remedy_g(1848) == pytest.approx(of_1848 * coinage_act_1870.GRAIN_G, abs=1e-12)
    assert of_1848 == 123 * 12 / 5760
    assert half.remedy_g(1890) == coinage_act_1870.SCHEDULE[half.key][5]
    assert half.remedy_g(1891) == coinage_act_1870.HALF_SOVEREIGN_REMEDY_1891_G
    assert half.remedy_g(None) == half.remedy_g(1900)


@pytest.mark.parametrize("key", latin_union.PIECES)
def test_latin_union(key: str) -> None:
    grams, per_mille, fineness, diameter = latin_union.PIECES[key]
    coin = STANDARDS.get(key)
    assert (coin.weight_g, coin.fineness) == (grams, fineness)
    assert coin.remedy_g(1890) == pytest.approx(grams * per_mille / 1000, rel=1e-12)
    if diameter is not None:
        assert coin.diameter_mm == diameter


@pytest.mark.parametrize("key", latin_union.LEAST_G)
def test_least_weight_in_the_latin_union(key: str) -> None:
    least = STANDARDS.get(key).least_current_g
    assert least == pytest.approx(latin_union.LEAST_G[key], abs=PRINTED_GRAMS)


def test_twenty_marks() -> None:
    coin = STANDARDS.get(STANDARDS.resolve("20 Mark", 1890).key)
    grams = 500 / german_empire.TWENTY_MARK_PIECES_FROM_500_G
    assert coin.weight_g == pytest.approx(grams, abs=PRINTED_GRAMS)
    assert coin.fineness == german_empire.FINENESS
    passing = grams * (1 - german_empire.PASSING_PER_MILLE / 1000)
    assert coin.least_current_g == pytest.approx(passing, abs=1e-5)


@pytest.mark.parametrize("key", us_modern.COINS)
def test_american_coins_of_today(key: str) -> None:
    inches, grams = us_modern.COINS[key]
    coin = STANDARDS.get(key)
    assert coin.weight_g == grams
    assert coin.diameter_mm == pytest.approx(25.4 * inches, abs=0.005)


def test_american_variations_and_dollar_of_today() -> None:
    assert STANDARDS.get("us-5c-1946").remedy_g(1990) == us_modern.FIVE_CENTS_VARIATION_G
    assert STANDARDS.get("us-cent-1982").remedy_g(1990) == us_modern.CENT_VARIATION_G
    dollar = STANDARDS.get("us-dollar-2000")
    assert dollar.diameter_mm == pytest.approx(25.4 * us_modern.DOLLAR_INCHES, abs=0.005)


@pytest.mark.parametrize("key", us_modern.BULLION)
def test_american_bullion(key: str) -> None:
    coin = STANDARDS.get(key)
    assert (coin.diameter_mm, coin.weight_g) == us_modern.BULLION[key]


@pytest.mark.parametrize("key", us_modern.SPECIFICATION)
def test_american_specification(key: str) -> None:
    coin = STANDARDS.get(key)
    expected = us_modern.SPECIFICATION[key]
    assert (coin.weight_g, coin.diameter_mm, coin.thickness_mm) == expected


@pytest.mark.parametrize("key", euro.COINS)
def test_euro(key: str) -> None:
    coin = STANDARDS.get(key)
    assert (coin.diameter_mm, coin.thickness_mm, coin.weight_g) == euro.COINS[key]


def test_published_rates_of_wear() -> None:
    for key, share in wear_rates.SHARE_A_YEAR.items():
        assert STANDARDS.get(key).wear_per_year == pytest.approx(share, rel=1e-9)
    for key, years in wear_rates.YEARS_TO_HALF_PERCENT.items():
        assert STANDARDS.get(key).wear_per_year * years == pytest.approx(0.005, rel=2e-3)


def test_every_figure_has_a_source_and_no_thickness_is_called_law() -> None:
    for coin in STANDARDS.types:
        given = {
            "fineness", "fineness_remedy", "diameter_mm", "thickness_mm", "least_current_g",
            "abrasion_share",
        }  # fmt: skip
        named = {name for name in given if getattr(coin, name) is not None}
        named |= {"weight_g", "density_g_cm3", "years", "wear_per_year", "circulation_end"}
        assert named <= set(coin.sources), coin.key
        assert all(text.strip() for text in coin.sources.values()), coin.key
        assert all(remedy.source for remedy in coin.remedies), coin.key
        if coin.thickness_mm is not None:
            assert "not law" in coin.sources["thickness_mm"], coin.key


def test_a_short_name_says_state_and_first_year() -> None:
    for coin in STANDARDS.types:
        state, *_, year = coin.key.split("-")
        assert (state, int(year)) == (coin.state, coin.first_year)


def test_magnet_answers() -> None:
    attracted = {coin.key for coin in STANDARDS.types if coin.magnetic}
    assert attracted == {
        "us-cent-1943", "eu-1c-1999", "eu-2c-1999", "eu-5c-1999", "eu-1e-1999", "eu-2e-1999",
    }  # fmt: skip


def test_the_table_is_one_object() -> None:
    assert load_standards() is STANDARDS
    assert isinstance(STANDARDS, StandardsTable)
