"""The frozen records every room speaks, and the columns of the tables between them.

Where there is one thing (a doubt, a source file, a lot's statement) there is a frozen record.
Where there is one row an item or a reading, there are columns: a pandas frame whose columns
are the fields of a record, or :class:`ItemTable`, plain NumPy arrays of one length.

Units are in the names: ``_g`` grams, ``_mm`` millimetres, ``_percent`` per cent.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from enum import StrEnum
from typing import Any, Self

import numpy as np
import pandas as pd
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Texts = NDArray[np.object_]


class LotscreenError(Exception):
    """Base of every error that a user can mend; ``exit_code`` is the command's."""

    exit_code = 70


class InputError(LotscreenError):
    """A sheet that cannot be understood: names file, sheet, row, column, value, mend."""

    exit_code = 4


class StandardsError(LotscreenError):
    """A standards file that is wrong: names file, key, value, mend."""

    exit_code = 5


class SettingsError(LotscreenError):
    """A setting out of its range or unknown."""

    exit_code = 5


class OutputError(LotscreenError):
    """An output that cannot be written."""

    exit_code = 6


class ItemKind(StrEnum):
    """What a row of the sheet is. A reference piece is a coin known by other means: its
    thickness stands in for lot-mates, and it is not judged."""

    COIN = "coin"
    GROUP = "group"
    BAG = "bag"
    CHECK = "check"
    REFERENCE = "reference"


class Quantity(StrEnum):
    """What was read. Weights in g, lengths in mm, density in g/cm3, conductivity % IACS."""

    WEIGHT = "weight"
    DIAMETER = "diameter"
    DIAMETER_MIN = "diameter_min"
    DIAMETER_MAX = "diameter_max"
    THICKNESS = "thickness"
    DENSITY = "density"
    CONDUCTIVITY = "conductivity"


class ReadingStatus(StrEnum):
    """Whether a reading speaks: only ``used`` and ``in doubt`` readings enter the fit."""

    USED = "used"
    IN_DOUBT = "in doubt"
    SUSPENDED = "suspended"
    WITHDRAWN = "withdrawn"


class DispositionKind(StrEnum):
    """What a person does with a coin; the program never fills it in."""

    PAY = "pay"
    HOLD = "hold"
    RETURN = "return"
    REFER = "refer"


class FindingKind(StrEnum):
    """What the measurements say of a coin; what a person does with it is a disposition."""

    NOT_JUDGED = "not judged"
    RE_MEASURE = "re-measure"
    NOT_CONSISTENT = "not consistent"
    SET_ASIDE = "set aside"
    CONSISTENT = "consistent"


FLAGGED = (FindingKind.SET_ASIDE.value, FindingKind.NOT_CONSISTENT.value)
UNSETTLED = ("", FindingKind.NOT_JUDGED.value, FindingKind.RE_MEASURE.value)


@dataclass(frozen=True, slots=True)
class Item:
    """One row of a sheet that is a thing on the table; the columns of ``Intake.items``.

    ``item_id`` depends on the row's content, not on its place, so that it stays the
    same when the sheet is sorted. ``coin_id`` is the sheet's own number, verbatim where
    unique. ``year`` is None for a coin without date. ``carried`` keeps the columns that
    were not understood, as found. ``grade``: one of :data:`.quantities.GRADES`.
    """

    item_id: str
    kind: str
    count: int
    coin_id: str
    lot: str
    type_text: str
    date_text: str
    year: int | None
    mint_mark: str
    group: str
    position: int | None
    order: int
    source_file: str
    source_digest: str
    source_sheet: str
    source_row: int
    carried: Mapping[str, str]
    grade: str = ""


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of one quantity of one item; the columns of ``Intake.readings``.

    ``value`` is in the canonical unit of the quantity; ``raw`` is the cell verbatim and
    ``unit`` the unit it was written in. ``step`` is the smallest difference the
    instrument shows, in the canonical unit. A reading known only as a class gives
    ``low`` and ``high`` (else both NaN: the cell is value +- step / 2). ``nominal`` is
    the stated value of a check weight, NaN elsewhere.
    """

    item_id: str
    quantity: str
    value: float
    unit: str
    raw: str
    column: str
    step: float
    instrument: str
    person: str
    order: int
    time: str
    tare: float
    repeat: int
    low: float
    high: float
    nominal: float
    status: str
    why: str


@dataclass(frozen=True, slots=True)
class Doubt:
    """Something in a sheet that a person should look at; nothing was altered."""

    source_file: str
    sheet: str
    row: int
    column: str
    raw: str
    kind: str
    proposal: str
    why: str
    item_id: str = ""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A row of a sheet that is no item, with the reason; columns of ``Intake.left_out``."""

    source_file: str
    sheet: str
    row: int
    reason: str
    raw: str


@dataclass(frozen=True, slots=True)
class ColumnUnderstood:
    """How one column of a table was understood. ``role`` is '' when carried through."""

    header: str
    role: str
    unit: str
    why: str


@dataclass(frozen=True, slots=True)
class TableUnderstood:
    """How one table of one sheet was understood; ``notes`` are facts that raise no doubt."""

    source_file: str
    sheet: str
    header_row: int
    first_row: int
    last_row: int
    decimal_sign: str
    columns: tuple[ColumnUnderstood, ...]
    title: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SourceFile:
    """One file given: its name without folders, its SHA-256, the rows it holds."""

    name: str
    digest: str
    sheets: tuple[str, ...]
    rows: int


@dataclass(frozen=True, slots=True)
class Lot:
    """One lot of a parcel: its name in the sheet ('' where it has none), its items."""

    name: str
    items: int


@dataclass(frozen=True, slots=True)
class Parcel:
    """What came in together: the files given and the lots in them, first met first."""

    sources: tuple[SourceFile, ...]
    lots: tuple[Lot, ...]


@dataclass(frozen=True, slots=True)
class Intake:
    """What was read. Every row read is an item or left out:
    ``rows_read == len(items) + len(left_out)``, always. ``corrections`` (old, new, who; one
    row each) and ``dispositions`` (by item) are what persons filled in since."""

    items: pd.DataFrame
    readings: pd.DataFrame
    left_out: pd.DataFrame
    doubts: tuple[Doubt, ...]
    tables: tuple[TableUnderstood, ...]
    sources: tuple[SourceFile, ...]
    rows_read: int
    corrections: pd.DataFrame = field(default_factory=pd.DataFrame)
    dispositions: Mapping[str, str] = field(default_factory=dict)

    def parcel(self) -> Parcel:
        """The parcel: files and lots."""
        counts = self.items.groupby("lot", sort=False).size()
        lots = tuple(Lot(str(name), int(n)) for name, n in counts.items())
        return Parcel(self.sources, lots)


ITEM_COLUMNS = tuple(f.name for f in fields(Item))
READING_COLUMNS = tuple(f.name for f in fields(Reading))
LEFT_OUT_COLUMNS = tuple(f.name for f in fields(LeftOut))


@dataclass(frozen=True, slots=True)
class ItemTable:
    """One row an item, repeats collapsed: arrays of one length.

    A quantity that was not read is NaN with ``*_n`` 0. ``weight_low_g`` and ``weight_high_g``
    bound the cell of the mean reading: the balance's step or a published class (either bound
    may be infinite for an open class). ``*_u_*`` is one standard uncertainty of the mean without
    rounding. ``doubtful`` marks items with a reading in doubt, ``suspended`` those whose readings
    follow a failed check. ``type_key`` is the dated standard ('' until resolved; ``type_note``
    says why none). ``grade`` (:data:`.quantities.GRADES`) and ``balance`` are '' where not given.
    """

    item_id: Texts
    kind: Texts
    count: Ints
    lot: Texts
    type_text: Texts
    type_key: Texts
    type_note: Texts
    year: Floats
    group: Texts
    order: Ints
    weight_g: Floats
    weight_low_g: Floats
    weight_high_g: Floats
    weight_u_g: Floats
    weight_n: Ints
    weight_step_g: Floats
    diameter_mm: Floats
    diameter_min_mm: Floats
    diameter_max_mm: Floats
    diameter_u_mm: Floats
    diameter_n: Ints
    thickness_mm: Floats
    thickness_u_mm: Floats
    thickness_n: Ints
    doubtful: Bools
    suspended: Bools
    grade: Texts = field(default_factory=lambda: np.empty(0, dtype=object))
    balance: Texts = field(default_factory=lambda: np.empty(0, dtype=object))

    def __post_init__(self) -> None:
        for name in ("grade", "balance"):
            if not len(getattr(self, name)):
                object.__setattr__(self, name, np.full(len(self.item_id), "", dtype=object))

    def __len__(self) -> int:
        return len(self.item_id)

    def rows(self, index: Any) -> Self:
        """The rows at ``index`` (mask or positions) as a new table."""
        return replace(self, **{f.name: getattr(self, f.name)[index] for f in fields(self)})


@dataclass(frozen=True, slots=True)
class Finding:
    """What the measurements say of one coin; ``explanations`` with their shares of the
    evidence at the declared reference weights, likeliest first."""

    item_id: str
    finding: str
    score: float
    p_value: float
    log10_lr: float
    reason_code: str
    reason: str
    explanations: tuple[tuple[str, float], ...]
    next_test: str
    settings_digest: str


@dataclass(frozen=True, slots=True)
class Findings:
    """What the measurements say, one row an item of the judged table, same order.

    The three currencies of evidence stay apart: ``p_value`` is a rate among honest
    coins, ``log10_lr`` is evidence without a prior (departures, in the mixture that the lot
    shows, against honest; ``score`` gives every kind of departure some share),
    ``prob_not_honest`` needs the user's own rate and is NaN without one. ``shares``
    (items x len(mechanisms)) is each explanation's share of the evidence at the declared
    reference weights. ``reason_code`` is the key of the words of the first reason.
    """

    item_id: Texts
    finding: Texts
    expected_weight_g: Floats
    expected_low_g: Floats
    expected_high_g: Floats
    z_weight: Floats
    z_diameter: Floats
    z_thickness: Floats
    score: Floats
    p_value: Floats
    log10_lr: Floats
    prob_not_honest: Floats
    mechanisms: tuple[str, ...]
    shares: Floats
    other_type: Texts
    reason_code: Texts
    reason: Texts
    explanations: Texts
    next_test: Texts
    settings_digest: str

    def __len__(self) -> int:
        return len(self.item_id)

    def of(self, row: int) -> Finding:
        """The finding of one item as a record."""
        named = zip(self.mechanisms, self.shares[row], strict=True)
        explanations = sorted(((m, float(s)) for m, s in named), key=lambda pair: -pair[1])
        return Finding(
            item_id=str(self.item_id[row]),
            finding=str(self.finding[row]),
            score=float(self.score[row]),
            p_value=float(self.p_value[row]),
            log10_lr=float(self.log10_lr[row]),
            reason_code=str(self.reason_code[row]),
            reason=str(self.reason[row]),
            explanations=tuple((m, s) for m, s in explanations if s > 0),
            next_test=str(self.next_test[row]),
            settings_digest=self.settings_digest,
        )
