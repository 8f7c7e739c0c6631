"""The frozen records of what is said of a lot as a whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Ridge:
    """What one mean may mean: the loss expected by the wear allowance and the loss seen (of
    the balance corrected by its check weights), ``lighter_percent`` the difference. Each of
    the others alone would explain all of it: a scale or an alloy off by as much, so many
    ``more_years`` in use (negative: fewer), wear ``wear_times`` as fast. ``said`` in words;
    ``told_apart_by`` says what check weights, thickness and diameter tell of it."""

    expected_loss_percent: float
    seen_loss_percent: float
    lighter_percent: float
    more_years: float
    wear_times: float
    said: str
    told_apart_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WearRate:
    """Realised loss a year of use, per cent of the standard, weighted by coins: 95 % interval
    with scale, mint and years as given, and a wider one where each may be off by its
    declared width. ``mean_years`` in use."""

    percent: float
    low_percent: float
    high_percent: float
    wide_low_percent: float
    wide_high_percent: float
    mean_years: float


@dataclass(frozen=True, slots=True)
class FalseShare:
    """Share of coins that are no honest coins of the type, per cent: 95 % interval with the
    fitted kinds as they are, and a wider one where light alloy may stand in for the tail
    of wear."""

    percent: float
    low_percent: float
    high_percent: float
    wide_low_percent: float
    wide_high_percent: float


@dataclass(frozen=True, slots=True)
class Assumption:
    """One thing that was declared before the fit, and what the lot itself said of it."""

    what: str
    declared: str
    lot_said: str


@dataclass(frozen=True, slots=True)
class TypeStatement:
    """What the coins of one type in one lot say together.

    ``mean_loss_*`` is the mean loss of weight of these coins against the standard, with a
    95 % interval in which scale and mint may be off by their declared widths, in per cent.
    ``loss_per_year_percent`` is that of ``wear_rate``, None where no coin has a date.
    ``shift_percent`` is the mean of the lot against the standard, ``shift_p`` how rare its
    mean is when all is as declared. A lot lighter by ``smallest_shift_percent``, or
    heavier by ``smallest_heavier_percent``, is noticed 95 times in 100. ``notes`` are
    sentences, most important first.
    """

    type_key: str
    type_name: str
    coins: int
    mean_loss_percent: float
    mean_loss_low_percent: float
    mean_loss_high_percent: float
    loss_per_year_percent: float | None
    date_explains_wear: bool | None
    shift_percent: float
    shift_p: float
    smallest_shift_percent: float
    thickness_mates: int
    notes: tuple[str, ...]
    smallest_heavier_percent: float = float("nan")
    ridge: Ridge | None = None
    wear_rate: WearRate | None = None
    false_share: FalseShare | None = None
    assumed: tuple[Assumption, ...] = ()


@dataclass(frozen=True, slots=True)
class CheckStatement:
    """One reading of a check weight: stated and read, and whether it passes."""

    item_id: str
    order: int
    nominal_g: float
    read_g: float
    tolerance_g: float
    passes: bool


@dataclass(frozen=True, slots=True)
class OtherType:
    """Coins declared as one type whose readings fit another type on file."""

    declared_key: str
    other_key: str
    other_name: str
    coin_ids: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class GroupStatement:
    """One group, roll or bag weighed together (a row of ``groups.csv``). ``stack_off_sd``
    is how far its stack is taller than expected, in sds (NaN: not measured); ``odd`` what is
    out of the ordinary: "weight", "height", "both", "" (neither)."""

    item_id: str
    coin_id: str
    lot: str
    kind: str
    type_key: str
    count: int
    weight_g: float
    expected_weight_g: float
    expected_low_g: float
    expected_high_g: float
    finding: str
    reason: str
    stack_off_sd: float = float("nan")
    odd: str = ""


@dataclass(frozen=True, slots=True)
class LotAlarm:
    """One question asked of the lot as a whole: how rare the answer is where the lot is
    honest and well measured (``rate``; None: it could not be asked), the share of such
    lots that may alarm, whether it does, and the sentence."""

    name: str
    rate: float | None
    allowed: float
    alarmed: bool
    said: str


@dataclass(frozen=True, slots=True)
class WorkedLine:
    """One step of the coin worked by hand: what, the figures, where it comes from."""

    what: str
    figures: str
    source: str


@dataclass(frozen=True, slots=True)
class LotStatement:
    """Everything said of one lot: counts, what to do, what cannot be concluded.

    ``counts`` maps every finding to its number of coins. ``expected_honest_set_aside`` is
    how many of the coins set aside or not consistent are probably honest;
    ``largest_q_value`` is the share of honest coins among them at most, on average, by the
    rule of Benjamini and Hochberg (None: none set aside).
    ``fine_ounces`` is the fine metal of the coins found consistent, in troy ounces (None
    where no fineness is on file), ``fine_metal`` its name. ``alerts`` are sentences about
    the lot as a whole, most important first; ``alarms`` the questions behind the alarm
    budget; ``cannot_see`` the limits of the method for
    the types at hand.
    """

    lot: str
    rows_read: int
    coins: int
    groups: int
    check_rows: int
    left_out: int
    doubts: int
    counts: Mapping[str, int]
    expected_honest_set_aside: float
    types: tuple[TypeStatement, ...]
    other_types: tuple[OtherType, ...]
    checks: tuple[CheckStatement, ...]
    group_statements: tuple[GroupStatement, ...]
    fine_ounces: Mapping[str, float]
    alerts: tuple[str, ...]
    cannot_see: tuple[str, ...]
    worked_coin_id: str
    worked: tuple[WorkedLine, ...]
    reference_rows: int = 0
    alarms: tuple[LotAlarm, ...] = ()
    largest_q_value: float | None = None
