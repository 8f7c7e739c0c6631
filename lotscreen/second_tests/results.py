"""The register of second tests, their instruments' errors, and single results.

Adding one is one line in ``TESTS`` and its words. Errors are one standard deviation. What
repeats on one instrument share (its offset) does not grow smaller with their number: weighing
n times on one balance never drives the evidence to certainty. ``gross_share`` is the chance
that a whole run on one instrument says nothing (wrong coin, wrong setting); it bounds what
any number of repeats can say. All of it is assumed; a sheet may give its own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lotscreen.records import SettingsError
from lotscreen.words import say

NUMBER, WORD = "number", "word"
WATER, CONDUCTIVITY, RING = "water_density", "conductivity", "ring"
MAGNET, X_RAY, ASSAY, RE_WEIGH = "magnet", "x_ray", "assay", "re_weigh"


@dataclass(frozen=True, slots=True)
class KindOfTest:
    """One kind of second test. ``offset`` (shared by all repeats on one instrument) and
    ``repeat`` are shares of the value for conductivity and tone, a fineness for X-ray and
    assay, grams for weighings; of weighings whose step is known they follow the step.
    ``low`` and ``high`` bound what a run that says nothing may show. ``minutes`` and ``fee``
    of one test are the user's to change. ``needs``: an instrument that not everybody has."""

    key: str
    offset: float
    repeat: float
    gross_share: float
    low: float
    high: float
    minutes: float
    fee: float = 0.0
    needs: bool = False
    destroys: bool = False


TESTS: list[KindOfTest] = [
    KindOfTest(WATER, 0.010, 0.010, 0.01, 2.0, 24.0, 3.0),
    KindOfTest(CONDUCTIVITY, 0.04, 0.02, 0.01, 0.5, 110.0, 0.5, needs=True),
    KindOfTest(RING, 0.03, 0.02, 0.02, 0.2, 3.0, 1.0),
    KindOfTest(MAGNET, 0.0, 0.0, 0.01, 0.0, 1.0, 0.2),
    KindOfTest(X_RAY, 0.008, 0.004, 0.01, 0.0, 1.0, 5.0, fee=40.0, needs=True),
    KindOfTest(ASSAY, 0.0006, 0.0005, 0.005, 0.0, 1.0, 5.0, fee=60.0, needs=True, destroys=True),
    KindOfTest(RE_WEIGH, 0.010, 0.010, 0.01, 0.0, 100.0, 0.25),
]


def kind_of_test(key: str) -> KindOfTest:
    """The kind of test called ``key``; SettingsError lists those there are."""
    for kind in TESTS:
        if kind.key == key:
            return kind
    known = ", ".join(kind.key for kind in TESTS)
    raise SettingsError(say("second_tests.error.unknown_test", test=key, known=known))


@dataclass(frozen=True, slots=True)
class SecondResult:
    """One result of one second test on one coin.

    ``coin`` is the coin's number or id as typed, or roll and position ``group``, ``position``.
    ``value`` is in the unit of the test: density g/cm3, conductivity % IACS, tone in hertz,
    fineness 0..1, weight in g (re-weighing); NaN where ``word`` says it (magnet: yes, weak,
    no; tone: right, dull, dead). ``immersed_g`` (hanging in water) or ``displaced_g`` (added
    to a beaker) stand for a density. ``reference`` is what a known piece of the type read on
    the same instrument, NaN: none. ``step`` is the smallest difference the instrument shows.
    ``offset`` and ``repeat`` overrule the errors of the kind (NaN: those).
    """

    coin: str
    test: str
    value: float = np.nan
    word: str = ""
    immersed_g: float = np.nan
    displaced_g: float = np.nan
    thread_g: float = 0.0
    temperature_c: float = np.nan
    reference: float = np.nan
    step: float = np.nan
    offset: float = np.nan
    repeat: float = np.nan
    instrument: str = ""
    who: str = ""
    group: str = ""
    position: int = -1
    row: int = 0
    file: str = ""
    sheet: str = ""
    raw: str = ""
    lot: str = ""
    same_balance: bool = True
