"""A sheet screened with its second tests, for the commands that go on from there."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from lotscreen.cli.asking import with_answers
from lotscreen.cli.common import progress

if TYPE_CHECKING:
    from lotscreen.intake import ReadOptions
    from lotscreen.screening import Screening
    from lotscreen.second_tests.together import LotExplained
    from lotscreen.settings import Settings
    from lotscreen.standards import StandardsTable


@dataclass(frozen=True, slots=True)
class Asked:
    """What the options of such a command say of sheets, types, settings and tests."""

    sheets: tuple[Path, ...]
    types: tuple[str, ...] = ()
    standards: tuple[Path, ...] = ()
    settings: Path | None = None
    checks: tuple[tuple[float, float], ...] = ()
    mapping: Path | None = None
    unit: str | None = None
    lot: str | None = None
    tests: tuple[Path, ...] = ()


@dataclass(frozen=True, slots=True)
class Screened:
    """The screening, its coins with second tests, how many results there were, and a
    sentence for each that was not taken."""

    screening: Screening
    lot: LotExplained
    results: int
    not_taken: tuple[str, ...]


def screened(asked: Asked) -> Screened:
    """Screen, then take the second tests; raises children of LotscreenError."""
    # imported here, so that --help and a mistyped option answer at once
    from lotscreen.intake import options_from_words
    from lotscreen.report.cut import cut_to_lot
    from lotscreen.second_tests.sheet import read_tests
    from lotscreen.second_tests.together import lot_explained
    from lotscreen.settings import load_settings
    from lotscreen.standards import load_standards

    read = [read_tests(path) for path in asked.tests]
    settings, standards = load_settings(asked.settings, {}), load_standards(asked.standards)
    with progress() as tell:
        screening = with_answers(
            lambda said: _screen(asked, settings, standards, said, tell),
            options_from_words(asked.types, asked.mapping, asked.unit),
        )
    if asked.lot is not None:
        screening = cut_to_lot(screening, asked.lot)
    results = [result for sheet in read for result in sheet.results]
    intake = screening.intake
    lot = lot_explained(intake.items, screening.table, screening.fit, screening.findings,
                        settings, results, intake.readings)  # fmt: skip
    not_taken = [said for sheet in read for said in sheet.not_taken]
    return Screened(screening, lot, len(results) + len(not_taken), (*not_taken, *lot.not_taken))


def _screen(
    asked: Asked, settings: Settings, standards: StandardsTable, said: ReadOptions,
    tell: Callable[[str], None],
) -> Screening:  # fmt: skip
    from lotscreen.screening import screen

    return screen(asked.sheets, settings=settings, standards=standards, read_options=said,
                  check=asked.checks, again=False, progress=tell)  # fmt: skip


def places_of(screening: Screening) -> Sequence[str]:
    """How each item of the table is found again: roll and place, else its number, else row."""
    from lotscreen.words import say

    items = screening.intake.items
    found = []
    for group, position, coin, row in zip(
        items["group"], items["position"], items["coin_id"], items["source_row"], strict=True
    ):
        if str(group) and position == position:
            found.append(say("second_tests.place", group=group, position=int(position)))
        else:
            found.append(say("money.coin", coin=coin) if str(coin) else say("money.row", row=row))
    return found
