"""From what is asked for to an archive's members, and from members to a screening."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field, fields, replace
from pathlib import Path
from typing import Any

from lotscreen.intake import ReadOptions, options_from_words
from lotscreen.issuing.archive import (
    CORRECTIONS,
    PACKAGES,
    SETTINGS,
    SHEETS,
    STANDARDS,
    TESTS,
)
from lotscreen.issuing.beside import beside_the_sheets
from lotscreen.issuing.packages import packages_text
from lotscreen.ledger.chain import canonical
from lotscreen.ledger.history import History
from lotscreen.ledger.test_rows import read_tests_of, tests_text
from lotscreen.records import InputError, Intake
from lotscreen.report.cut import cut_to_lot
from lotscreen.screening import Screening, read, screen
from lotscreen.second_tests.together import LotExplained, lot_explained
from lotscreen.settings import Settings
from lotscreen.standards import StandardsTable, load_standards
from lotscreen.words import say


@dataclass(frozen=True, slots=True)
class Request:
    """What is to be screened for a paper. ``sheets`` are pairs (name, content), ``whole``
    says that the sheet as a whole is the lot. The others are as ``screen`` takes them."""

    lot: str
    sheets: tuple[tuple[str, bytes], ...]
    whole: bool = False
    settings: Settings = field(default_factory=Settings)
    standards: StandardsTable = field(default_factory=load_standards)
    types: tuple[str, ...] = ()
    mapping: Mapping[str, Any] | None = None
    unit: str | None = None
    checks: tuple[tuple[float, float], ...] = ()
    seed: int = 0

    def choices(self) -> dict[str, Any]:
        """What the manifest says of the request, in the types of JSON."""
        return {
            "lot": self.lot, "whole": self.whole, "types": list(self.types),
            "mapping": self.mapping, "unit": self.unit,
            "checks": [list(pair) for pair in self.checks], "seed": self.seed,
        }  # fmt: skip

    def read_options(self) -> ReadOptions:
        """How the sheets are read."""
        return replace(options_from_words(self.types, None, self.unit), mapping=self.mapping)


def request_of(members: Mapping[str, bytes], about: Mapping[str, Any]) -> Request:
    """The request that an archive was made from."""
    choices = {f.name: about[f.name] for f in fields(Request) if f.name in about}
    choices["types"] = tuple(about["types"])
    choices["checks"] = tuple((stated, found) for stated, found in about["checks"])
    return Request(
        sheets=tuple(
            (Path(name).name, content)
            for name, content in sorted(members.items())
            if name.startswith(SHEETS)
        ),
        settings=Settings().with_values(json.loads(members[SETTINGS])),
        standards=StandardsTable.from_dict(json.loads(members[STANDARDS])),
        **choices,
    )


def members_of(request: Request, history: History) -> dict[str, bytes]:
    """The members that decide the screening: sheets, settings, standards, packages, and the
    corrections and decisions of the ledger as a table that stands beside the sheets."""
    members = {
        f"{SHEETS}{place:03d}/{name}": content
        for place, (name, content) in enumerate(request.sheets, start=1)
    }
    members[SETTINGS] = _json(asdict(request.settings))
    members[STANDARDS] = _json(request.standards.to_dict())
    members[PACKAGES] = packages_text().encode("ascii")
    corrections = beside_the_sheets(history, lambda: _read(request))
    if corrections:
        members[CORRECTIONS] = corrections
    tests = tests_text(history.as_corrected("test"))
    if tests:
        members[TESTS] = tests
    return members


def second_tests(screening: Screening, tests: bytes | None) -> LotExplained | None:
    """What the second tests leave of the coins' explanations; None where there are none."""
    if tests is None:
        return None
    found = read_tests_of(tests)
    told = lot_explained(
        screening.intake.items, screening.table, screening.fit, screening.findings,
        screening.settings, found.results,
    )  # fmt: skip
    return replace(told, not_taken=(*found.not_taken, *told.not_taken))


def screened(request: Request, corrections: bytes | None) -> Screening:
    """The screening of the request, cut to its lot unless the sheet as a whole is the lot."""
    with tempfile.TemporaryDirectory() as folder:
        paths = _put(Path(folder), request.sheets)
        if corrections is not None:
            paths += _put(Path(folder) / "ledger", [(CORRECTIONS, corrections)])
        screening = screen(
            paths, settings=request.settings, standards=request.standards, seed=request.seed,
            read_options=request.read_options(), check=request.checks,
        )  # fmt: skip
    return screening if request.whole else _cut(screening, request.lot)


def _cut(screening: Screening, lot: str) -> Screening:
    if lot not in screening.lots:
        lots = ", ".join(repr(name) for name in screening.lots if name) or say("issuing.no_lots")
        raise InputError(say("issuing.not_in_sheet", lot=lot, lots=lots))
    return cut_to_lot(screening, lot) if len(screening.lots) > 1 else screening


def _put(folder: Path, files: Sequence[tuple[str, bytes]]) -> list[Path]:
    """Each file in a folder of its own, because two may have one name."""
    paths = []
    for place, (name, content) in enumerate(files):
        path = folder / str(place) / Path(name).name
        path.parent.mkdir(parents=True)
        path.write_bytes(content)
        paths.append(path)
    return paths


def _json(value: object) -> bytes:
    return (canonical(value) + "\n").encode("ascii")


def _read(request: Request) -> Intake:
    """The items of the lot and their readings, as the sheets alone say them."""
    with tempfile.TemporaryDirectory() as folder:
        intake = read(_put(Path(folder), request.sheets), request.read_options())
    if request.whole:
        return intake
    of_lot = intake.items["lot"].isin([request.lot, ""])
    return replace(intake, items=intake.items[of_lot])
