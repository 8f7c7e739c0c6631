"""Balance and caliper: spread of a reading from the step shown, check weights.

One standard deviation of a reading on an instrument of a given step is common practice,
no source: a balance of 0.01 g repeats to about 0.01 g, one of 0.001 g to 0.003 g, one
of 0.1 g to 0.07 g; a caliper of 0.01 mm to 0.02 mm, a micrometer of 0.001 mm to 0.004 mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from lotscreen.records import Bools, ItemKind, Quantity, ReadingStatus, Texts
from lotscreen.settings import Settings

_WEIGHT_SD_OF_STEP = ((0.001, 3.0), (0.01, 1.0), (0.1, 0.7), (np.inf, 0.6))
_LENGTH_SD_OF_STEP = ((0.001, 4.0), (0.01, 2.0), (0.1, 0.6), (np.inf, 0.5))


@dataclass(frozen=True, slots=True)
class Instrument:
    """A balance or gauge: smallest step shown and one standard deviation of a reading,
    in the canonical unit. ``stated`` says where the two come from; ``between_sd`` is the
    spread of the people or instruments that share the readings."""

    name: str
    quantity: str
    step: float
    sd: float
    stated: str
    between_sd: float = 0.0


@dataclass(frozen=True, slots=True)
class ReadingSpread:
    """What repeats of one quantity add to what is assumed of its instruments: ``factor``
    multiplies the sd of a reading, ``between_sd`` is the spread of people or instruments
    (canonical unit)."""

    quantity: str
    factor: float
    between_sd: float


def reading_sd(quantity: str, step: float, settings: Settings) -> float:
    """One standard deviation of a single reading in the canonical unit (g or mm)."""
    is_weight = quantity == Quantity.WEIGHT
    stated = settings.weight_sd_g if is_weight else settings.length_sd_mm
    if stated is not None:
        return stated
    table = _WEIGHT_SD_OF_STEP if is_weight else _LENGTH_SD_OF_STEP
    factors = (factor for upto, factor in table if step <= upto * (1 + 1e-9))
    return next(factors, table[-1][1]) * step


def instruments_of(
    readings: pd.DataFrame, settings: Settings, spreads: Sequence[ReadingSpread] = ()
) -> tuple[Instrument, ...]:
    """The instruments that a table of readings speaks of: one a name, quantity and step.

    ``readings`` has the columns of :class:`lotscreen.records.Reading`; ``spreads`` is what
    repeats showed, for quantities whose sd the settings do not state.
    """
    keys = readings[["instrument", "quantity", "step"]].drop_duplicates()
    shown = {spread.quantity: spread for spread in spreads}
    return tuple(
        _instrument(str(name), str(quantity), float(step), settings, shown.get(str(quantity)))
        for name, quantity, step in sorted(keys.itertuples(index=False, name=None))
    )


def _instrument(
    name: str, quantity: str, step: float, settings: Settings, shown: ReadingSpread | None
) -> Instrument:
    sd = reading_sd(quantity, step, settings)
    if shown is not None:
        return Instrument(name, quantity, step, sd * shown.factor, "repeats", shown.between_sd)
    is_stated = settings.weight_sd_g is not None
    return Instrument(
        name, quantity, step, sd, "settings" if is_stated else "assumed from the step shown"
    )


@dataclass(frozen=True, slots=True)
class CheckReading:
    """One reading of a check weight: stated and read value in g, the balance's step,
    its place in the measuring order, and whether it is within the tolerance. ``instrument``
    is the balance it was read on ('' where the sheet does not say)."""

    item_id: str
    order: int
    nominal_g: float
    read_g: float
    step_g: float
    tolerance_g: float
    instrument: str = ""

    @property
    def passes(self) -> bool:
        """Whether the reading is within the tolerance (bounds included)."""
        return abs(self.read_g - self.nominal_g) <= self.tolerance_g * (1 + 1e-9)

    def speaks_of(self, instruments: Texts) -> Bools:
        """Of which weighings on ``instruments`` (n,) it speaks: those on its balance, and
        all where it or the weighing names none."""
        own = (instruments == self.instrument) | (instruments == "")
        return np.asarray(own | (self.instrument == ""), dtype=np.bool_)


def balances_of(readings: pd.DataFrame) -> dict[str, str]:
    """The balance on which each item was weighed first ('' where not said), by item id."""
    weights = readings[readings["quantity"] == Quantity.WEIGHT].drop_duplicates("item_id")
    return dict(zip(weights["item_id"].astype(str), weights["instrument"].astype(str), strict=True))


def check_readings(
    items: pd.DataFrame,
    readings: pd.DataFrame,
    settings: Settings,
    stated: Sequence[tuple[float, float]] = (),
) -> tuple[CheckReading, ...]:
    """All check-weight readings: rows of kind *check*, then the ``stated`` pairs
    (nominal g, read g) given on the command line, which hold for the whole sheet.

    The tolerance is ``check_tolerance_steps`` steps of the balance.
    """
    checks = items.loc[items["kind"] == ItemKind.CHECK, "item_id"]
    rows = readings[
        readings["item_id"].isin(set(checks))
        & (readings["quantity"] == Quantity.WEIGHT)
        & (readings["status"] != ReadingStatus.WITHDRAWN)
        & readings["nominal"].notna()
        & readings["value"].notna()
    ]
    weights = readings.loc[readings["quantity"] == Quantity.WEIGHT, "step"]
    step = float(weights.median()) if len(weights) else 0.01
    names = ("item_id", "order", "nominal", "value", "step", "instrument")
    columns = (rows[name].tolist() for name in names)
    found = [
        CheckReading(
            str(item), int(order), float(nominal), float(value), float(grain),
            settings.check_tolerance_steps * float(grain), str(instrument),
        )
        for item, order, nominal, value, grain, instrument in zip(*columns, strict=True)
    ]  # fmt: skip
    found += [
        CheckReading(f"stated check {n}", -1, nominal, read, step,
                     settings.check_tolerance_steps * step)
        for n, (nominal, read) in enumerate(stated, 1)
    ]  # fmt: skip
    return tuple(found)


@dataclass(frozen=True, slots=True)
class ScaleBelief:
    """What is believed of the balance before the lot is seen: relative error of its
    readings (share of the weight) and one standard deviation of that."""

    error: float
    sd: float
    from_checks: bool


def scale_belief(checks: Sequence[CheckReading], settings: Settings) -> ScaleBelief:
    """The belief from check weights, or ``scale_width`` about zero where there are none.

    Readings of check weights are never used to alter a coin's reading; they move what
    is expected of it. A single check is good to one step of the balance over its
    nominal value. Of several balances those count whose checks all pass, where there are
    such: what was weighed on the others is suspended.
    """
    if not checks:
        return ScaleBelief(0.0, settings.scale_width, False)
    failing = {c.instrument for c in checks if not c.passes}
    checks = [c for c in checks if c.instrument not in failing] or checks
    errors = np.array([c.read_g / c.nominal_g - 1 for c in checks])
    single = np.array([c.step_g / c.nominal_g for c in checks])
    weight = 1 / single**2
    mean = float(np.sum(weight * errors) / np.sum(weight))
    scatter = float(np.std(errors)) if len(errors) > 2 else 0.0
    sd = float(np.hypot(np.sum(weight) ** -0.5, scatter / np.sqrt(len(errors))))
    return ScaleBelief(mean, min(sd, settings.scale_width), True)
