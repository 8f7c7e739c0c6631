"""Decimal commas in a file whose cells are parted by commas: numbers cut in two."""

from __future__ import annotations

import numpy as np

from lotscreen.intake.grid import column_letters
from lotscreen.intake.table import Table
from lotscreen.intake.vocabulary import MEASURE_ROLES
from lotscreen.records import InputError
from lotscreen.words import say

_SHARE = 0.5  # of the rows must be longer than the header


def refuse_cut_numbers(table: Table) -> None:
    """InputError where most rows have cells beyond the last header and no reading has a
    decimal: then the columns do not mean what their headers say."""
    headless = [
        column
        for column, place in zip(table.columns, table.places, strict=True)
        if column.header == column_letters(place)
    ]
    if not headless or table.header_row == 0 or table.columns[-1] is not headless[-1]:
        return
    longer = headless[0].filled()
    measured = [
        column
        for column, sense in zip(table.columns, table.senses, strict=True)
        if sense is not None and sense.role in MEASURE_ROLES
    ]
    whole = [column.where(lambda text: text.strip().isdecimal()) for column in measured]
    all_whole = all(
        bool((w | ~c.filled())[longer].all()) for w, c in zip(whole, measured, strict=True)
    )
    if longer.mean() >= _SHARE and measured and all_whole:
        row = int(np.argmax(longer))
        cells = " , ".join(str(c.texts[row]) for c in table.columns)
        raise InputError(
            say(
                "intake.error.cut_numbers",
                file=table.file,
                sheet=table.sheet,
                row=table.first_row + row,
                cells=cells,
                headers=len(table.columns) - len(headless),
            )
        )
