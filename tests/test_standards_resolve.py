"""From the text of a sheet and a year to the dated standard."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lotscreen.standards import CoinType, load_standards

STANDARDS = load_standards()
NAN = float("nan")

FOUND = [
    ("US half dollar", 1836, "us-half-1794"),
    ("US half dollar", 1850, "us-half-1837"),
    ("US half dollar", 1860, "us-half-1853"),
    ("US half dollar", 1900, "us-half-1873"),
    ("US half dollar", 1967, "us-half-1965"),
    ("US half dollar", 1999, "us-half-1971"),
    ("US quarter dollar", 1932, "us-quarter-1873"),
    ("US half eagle", 1880, "us-half-eagle-1837"),
    ("UK sovereign", 1900, "uk-sovereign-1817"),
    ("half", 1964, "us-half-1873"),
    ("HALVES", 1964, "us-half-1873"),
    ("Half-Dollars.", 1943, "us-half-1873"),
    ("½ dollar", 1943, "us-half-1873"),
    ("50c", 1943, "us-half-1873"),
    ("fifty cents", 1943, "us-half-1873"),
    ("Halbdollar", 1943, "us-half-1873"),
    ("medio dólar", 1943, "us-half-1873"),
    ("demi-dollar", 1943, "us-half-1873"),
    ("dime", 1891, "us-dime-1873"),
    ("U.S. dimes", 1946, "us-dime-1873"),
    ("dime", 1991, "us-dime-1965"),
    ("half dime", 1850, "us-half-dime-1837"),
    ("three cents silver", 1852, "us-3c-silver-1851"),
    ("3 cents nickel", 1870, "us-3c-1865"),
    ("Trade Dollar", None, "us-trade-dollar-1873"),
    ("$20", 1904, "us-double-eagle-1850"),
    ("$2.50 gold", 1904, "us-quarter-eagle-1837"),
    ("2 1/2 dollars gold", 1904, "us-quarter-eagle-1837"),
    ("dollar", 1921, "us-dollar-1840"),
    ("half dollar 40%", 1968, "us-half-1965"),
    ("half dollar", 1976, "us-half-1971"),
    ("half dollar 40 %", 1976, "us-half-silver-1976"),
    ("silver dollar", 1972, "us-dollar-silver-1971"),
    ("90% half", None, "us-half-1873"),
    ("Shilling", 1887, "uk-shilling-1816"),
    ("GB shilling", NAN, "uk-shilling-1816"),
    ("Schilling", 1887, "uk-shilling-1816"),
    ("chelín", 1935, "uk-shilling-1920"),
    ("1/-", 1950, "uk-shilling-1947"),
    ("2/6", 1900, "uk-half-crown-1816"),
    ("Half-Crowns", 1935, "uk-half-crown-1920"),
    ("souverain", None, "uk-sovereign-1817"),
    ("½ sovereign", 1892, "uk-half-sovereign-1817"),
    ("£5", 1887, "uk-5-pounds-1820"),
    ("UK penny", 1901, "uk-penny-1860"),
    ("US penny", 1901, "us-cent-1864"),
    ("bronze penny", 1860, "uk-penny-1860"),
    ("5 Francs gold", 1870, "lu-5f-gold-1865"),
    ("5 F argent", 1870, "lu-5f-silver-1865"),
    ("20 francs or", 1890, "lu-20f-gold-1865"),
    ("20 francs", 1850, "fr-20f-gold-1803"),
    ("Italian 20 lire", 1882, "lu-20f-gold-1865"),
    ("Schweiz 2 Franken", 1874, "lu-2f-silver-1865"),
    ("20 Mark", 1890, "de-20m-gold-1871"),
    ("2 €", 2004, "eu-2e-1999"),
    ("20 Eurocent", 2002, "eu-20c-1999"),
    ("us-half-1873", 1900, "us-half-1873"),
    ("us-half-1873", None, "us-half-1873"),
    ("US half dollar 1850", None, "us-half-1837"),
    ("half dollars 1916-1947", None, "us-half-1873"),
]


@pytest.mark.parametrize(("text", "year", "key"), FOUND)
def test_understood(text: str, year: float | None, key: str) -> None:
    found = STANDARDS.resolve(text, year)
    assert found.key == key, found.note
    assert key in found.candidates


NOT_FOUND = [
    ("US half dollar", None, {"us-half-1837", "us-half-1873"}, "may mean"),
    ("5 francs", 1870, {"lu-5f-gold-1865", "lu-5f-silver-1865"}, "may mean"),
    ("penny", 1901, {"uk-penny-1860", "us-cent-1864"}, "may mean"),
    ("50 cent", 2002, {"us-half-1971", "eu-50c-1999"}, "may mean"),
    ("cent", 1982, {"us-cent-1944", "us-cent-1982"}, "may mean"),
    ("trade dollar", 1991, {"us-trade-dollar-1873"}, "1873-1885"),
    ("US half dollar 90%", 1990, {"us-half-1873"}, "1873-1964"),
    ("us-half-1873", 1837, {"us-half-1873"}, "1873-1964"),
    ("half dollars 1840-1900", None, {"us-half-1853"}, "1840, 1900"),
    ("Canadian half dollar", 1940, set(), "state that is not on file"),
    ("UK dime", 1900, set(), "no standard on file"),
    ("banana", 1900, set(), "no standard on file for 'banana'"),
    ("half dollar crown", 1900, set(), "do not go together"),
    ("coin", 1900, set(), "no standard on file"),
    ("  ", 1900, set(), "no type given"),
]


@pytest.mark.parametrize(("text", "year", "near", "why"), NOT_FOUND)
def test_not_understood_says_why(text: str, year: float | None, near: set[str], why: str) -> None:
    found = STANDARDS.resolve(text, year)
    assert found.key == ""
    assert near <= set(found.candidates)
    assert why in found.note


@pytest.mark.parametrize(
    ("text", "year", "key"),
    [
        ("half dollar", 1853, "us-half-1853"),
        ("half dollar, arrows", 1853, "us-half-1853"),
        ("half dollar, no arrows", 1853, "us-half-1837"),
        ("half dollar", 1873, "us-half-1873"),
        ("half dollar with arrows", 1873, "us-half-1873"),
        ("half dollar without arrows", 1873, "us-half-1853"),
        ("quarter eagle", 1834, "us-quarter-eagle-1834"),
        ("quarter eagle with motto", 1834, "us-quarter-eagle-1796"),
    ],
)
def test_a_year_of_two_standards(text: str, year: int, key: str) -> None:
    found = STANDARDS.resolve(text, year)
    assert found.key == key
    assert len(found.candidates) == 2
    says_itself = "arrows" in text or "motto" in text
    assert ("two standards" in found.note) is not says_itself


@pytest.mark.parametrize(
    ("mark", "key"), [("P", "us-5c-silver-1942"), ("s", "us-5c-silver-1942"), ("D", "us-5c-1883"),
                      ("", "us-5c-1883")]
)  # fmt: skip
def test_the_mint_mark_tells_the_five_cents_of_1942(mark: str, key: str) -> None:
    assert STANDARDS.resolve("nickel", 1942, mark).key == key


def test_no_date_and_one_weight() -> None:
    found = STANDARDS.resolve("shilling", None)
    assert found.key == "uk-shilling-1816"
    assert set(found.candidates) == {"uk-shilling-1816", "uk-shilling-1920", "uk-shilling-1947"}
    assert "same weight" in found.note


def test_words_not_understood_are_named() -> None:
    found = STANDARDS.resolve("Blue ribbon half dollar", 1943)
    assert found.key == "us-half-1873"
    assert found.note == "words not understood: blue, ribbon"


@pytest.mark.parametrize("coin", STANDARDS.types, ids=lambda coin: coin.key)
def test_every_type_is_found_by_its_key_and_by_each_of_its_words(coin: CoinType) -> None:
    year = (coin.first_year + (coin.last_year or 2020) + 1) // 2
    if coin.first_year == coin.last_year or coin.first_year + 1 == coin.last_year:
        year = coin.last_year
    assert STANDARDS.resolve(coin.key, coin.first_year).key == coin.key
    assert STANDARDS.resolve(coin.name, coin.first_year).key == coin.key
    for word in coin.words:
        with_metal = STANDARDS.resolve(f"{coin.state} {word} {coin.metal}", year)
        assert coin.key in with_metal.candidates, (word, with_metal)
        bare = STANDARDS.resolve(word, year)
        assert coin.said_only or coin.key in bare.candidates, (word, bare)


@pytest.mark.parametrize(
    ("text", "year", "word", "meant"),
    [
        ("hlaf sovereign", 1911, "hlaf", "half"),
        ("duoble eagle", 1904, "duoble", "double"),
        ("tow mark", 1911, "tow", "two"),
        ("duble florin", 1888, "duble", "double"),
        ("Half Eagel", 1899, "eagel", "eagle"),
        ("quater dollar", 1921, "quater", "quarter"),
    ],
)
def test_a_mistyped_word_that_would_be_another_type_makes_no_type(
    text: str, year: int, word: str, meant: str
) -> None:
    found = STANDARDS.resolve(text, year)
    assert (found.key, found.candidates) == ("", ())
    assert f"'{word}' for '{meant}'" in found.note


@pytest.mark.parametrize(
    ("text", "year", "key"),
    [
        ("Fanklin half", 1951, "us-half-1873"),  # the same type, whatever was meant
        ("half dollar fine", 1943, "us-half-1873"),  # no five, no nine
        ("half dollar brown", 1943, "us-half-1873"),  # no crown
        ("Sovereign, edge nick", 1911, "uk-sovereign-1817"),
    ],
)
def test_a_remark_beside_the_type_is_no_mistyped_unit(text: str, year: int, key: str) -> None:
    found = STANDARDS.resolve(text, year)
    assert found.key == key
    assert "words not understood" in found.note


@given(st.text(max_size=30), st.one_of(st.none(), st.floats(1700, 2100), st.just(NAN)))
def test_any_text_gets_an_answer(text: str, year: float | None) -> None:
    found = STANDARDS.resolve(text, year)
    assert (found.key in found.candidates) if found.key else found.note
    assert STANDARDS.resolve(text, year) == found


@given(
    st.sampled_from(FOUND), st.sampled_from([str.upper, str.title, "  {} ".format, "{}.".format])
)
def test_spelling_does_not_matter(case: tuple[str, float | None, str], change: object) -> None:
    text, year, key = case
    assert callable(change)
    assert STANDARDS.resolve(change(text), year).key == key


def test_search() -> None:
    keys = [coin.key for coin in STANDARDS.search("half dollar 1870")]
    assert "us-half-1853" in keys
    assert "us-half-1873" not in keys
    assert STANDARDS.search("half nonsense") == []


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("Elbonian groat", "elbonian"), ("Sixpence, Elbonia", "elbonia"),
        ("Ruritania crown", "ruritania"), ("freedonischer Sovereign", "freedonischer"),
    ],
)  # fmt: skip
def test_a_word_like_a_state_is_not_passed_over(text: str, word: str) -> None:
    found = load_standards().resolve(text, 1850)
    assert found.key == ""
    assert f"{word} seems to name a state that is not on file" in found.note


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("Victorian shilling", "uk-shilling-1816"), ("clean sovereign", "uk-sovereign-1817"),
        ("greenish florin", "uk-florin-1849"), ("scratched groat", "uk-groat-1816"),
        ("UK Elbonian groat", "uk-groat-1816"),
    ],
)  # fmt: skip
def test_a_word_that_only_ends_so_changes_nothing(text: str, key: str) -> None:
    assert load_standards().resolve(text, 1850).key == key
