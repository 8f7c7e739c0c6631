"""The wrong planchet: two hundred lots of one fund, most types alone.

Lessons: a half on a quarter's planchet is rare and honest, a trade dollar among dollars is
another type, and a coin without lot-mates is judged by its standard alone.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from lotscreen.simulate.draw import draw_lot
from lotscreen.simulate.samples.files import SampleLot, cells, csv_bytes, key_bytes
from lotscreen.simulate.specs import CoinSpec, LotSpec, SimulatedLot, Wear
from lotscreen.simulate.spoiling import note
from lotscreen.standards import StandardsTable
from lotscreen.words import say

_SEED = 20260110

_HEADERS = ["No", "Description", "Date", "Weight (g)", "Diameter (mm)", "Thickness (mm)"]
_COUNTRIES = (("US ", "UNITED STATES"), ("UK ", "UNITED KINGDOM"), ("", "THE CONTINENT"))
_TYPES: tuple[tuple[str, str, int, int, int], ...] = (
    ("us-dollar-1840", "US silver dollar", 11, 1878, 1904),
    ("us-half-1873", "US half dollar", 12, 1876, 1940),
    ("us-half-1853", "US half dollar", 2, 1854, 1872),
    ("us-half-1837", "US half dollar", 2, 1839, 1852),
    ("us-half-1794", "US half dollar", 3, 1806, 1835),
    ("us-quarter-1873", "US quarter dollar", 9, 1876, 1940),
    ("us-quarter-1853", "US quarter dollar", 1, 1856, 1870),
    ("us-20c-1875", "US 20 cents", 1, 1875, 1876),
    ("us-dime-1873", "US dime", 8, 1876, 1940),
    ("us-dime-1837", "US dime", 1, 1839, 1850),
    ("us-half-dime-1853", "US half dime", 1, 1855, 1870),
    ("us-5c-1883", "US five cents", 7, 1884, 1938),
    ("us-5c-1866", "US five cents", 2, 1867, 1882),
    ("us-3c-1865", "US three cents", 1, 1866, 1880),
    ("us-cent-1864", "US cent", 9, 1866, 1938),
    ("us-2c-1864", "US two cents", 1, 1865, 1870),
    ("us-double-eagle-1850", "US double eagle", 2, 1875, 1907),
    ("us-eagle-1838", "US eagle", 2, 1880, 1907),
    ("us-half-eagle-1837", "US half eagle", 3, 1880, 1907),
    ("us-quarter-eagle-1837", "US quarter eagle", 1, 1880, 1907),
    ("us-gold-dollar-1854", "US gold dollar", 1, 1856, 1885),
    ("uk-sovereign-1817", "UK sovereign", 11, 1872, 1912),
    ("uk-half-sovereign-1817", "UK half sovereign", 5, 1885, 1912),
    ("uk-crown-1818", "UK crown", 6, 1845, 1900),
    ("uk-double-florin-1887", "UK double florin", 1, 1887, 1890),
    ("uk-half-crown-1816", "UK half crown", 9, 1820, 1910),
    ("uk-florin-1849", "UK florin", 7, 1852, 1910),
    ("uk-shilling-1816", "UK shilling", 12, 1820, 1910),
    ("uk-sixpence-1816", "UK sixpence", 9, 1820, 1910),
    ("uk-threepence-1817", "UK threepence", 3, 1860, 1910),
    ("uk-penny-1860", "UK penny", 8, 1862, 1936),
    ("uk-halfpenny-1860", "UK halfpenny", 3, 1862, 1936),
    ("uk-farthing-1860", "UK farthing", 1, 1862, 1936),
    ("fr-20f-gold-1803", "French 20 francs", 4, 1808, 1862),
    ("fr-5f-silver-1803", "French 5 francs", 5, 1811, 1860),
    ("fr-2f-silver-1803", "French 2 francs", 2, 1811, 1860),
    ("fr-1f-silver-1803", "French 1 franc", 2, 1811, 1860),
    ("de-20m-gold-1871", "German 20 mark", 5, 1873, 1912),
    ("de-10m-gold-1872", "German 10 mark", 2, 1874, 1912),
    ("de-5m-silver-1874", "German 5 mark", 6, 1876, 1908),
    ("de-3m-silver-1908", "German 3 mark", 6, 1908, 1914),
    ("de-2m-silver-1876", "German 2 mark", 5, 1877, 1908),
    ("de-1m-silver-1873", "German 1 mark", 3, 1875, 1908),
)
_OTHERS: tuple[tuple[str, str, int, int, int, str], ...] = (
    ("us-quarter-1873", "US half dollar", 1, 1899, 1899, "on a quarter's planchet"),
    ("us-cent-1864", "US five cents", 1, 1911, 1911, "on a cent's planchet"),
    ("us-trade-dollar-1873", "US silver dollar", 3, 1878, 1884, "trade dollar"),
)
_ODD_DATES = {"US silver dollar": "1991", "UK shilling": "18871", "UK penny": "1876/5"}


def wrong_planchet(standards: StandardsTable) -> SampleLot:
    """One lot a row, a line over each country, counts below each."""
    lot = draw_lot(_spec(standards), _SEED)
    _odd_dates(lot)
    rows = [[say("simulate.title_planchet")], [], _HEADERS]
    columns = ("coin_id", "type", "date", "weight_g", "diameter_mm", "thickness_mm")
    written = cells(lot.sheet, *columns)
    order = []
    for prefix, country in _COUNTRIES:
        here = [
            place
            for place, row in enumerate(written)
            if row[1].startswith(prefix) and (prefix or row[1][:3] not in ("US ", "UK "))
        ]
        rows += [[country], *(written[place] for place in here), [f"Total {len(here)} lots"]]
        order += here
    return SampleLot(
        file_name="wrong_planchet.csv",
        sheet=csv_bytes([[*row, *[""] * (len(_HEADERS) - len(row))] for row in rows]),
        key_name="wrong_planchet_key.csv",
        key=key_bytes(lot.key.iloc[order]),
    )


def _odd_dates(lot: SimulatedLot) -> None:
    """Two dates mistyped, one an overdate, three with a mint mark written in another way."""
    sheet = lot.sheet
    honest = (lot.key["true_kind"] == "honest").to_numpy()
    for words, date in _ODD_DATES.items():
        row = int(np.flatnonzero(honest & (sheet["type"] == words).to_numpy())[0])
        sheet.loc[row, "date"] = date
        if "/" not in date:
            note(lot.key, np.arange(len(sheet)) == row, "date mistyped", "date")
    dollars = np.flatnonzero((sheet["type"] == "US silver dollar").to_numpy() & honest)
    for row, form in zip(dollars[1:4].tolist(), ("{}-S", "{} CC", "O/{}"), strict=True):
        sheet.loc[row, "date"] = form.format(sheet.loc[row, "date"][:4])


def _spec(standards: StandardsTable) -> LotSpec:
    wear = Wear("gamma", depth_um_per_year=0.35, growth=0.9)
    honest = [
        CoinSpec(
            coin_type=standards.get(key),
            type_text=words,
            count=count,
            years=tuple(range(first, last + 1)),
            in_use_until=max(last, 1914),
            wear=wear,
        )
        for key, words, count, first, last in _TYPES
    ]
    little = replace(wear, depth_um_per_year=0.1)
    others = [
        CoinSpec(standards.get(key), words, count, tuple(range(first, last + 1)), 1914, little,
                 label=label)
        for key, words, count, first, last, label in _OTHERS
    ]  # fmt: skip
    return LotSpec(coins=(*honest, *others), slip_rate=0.004)
