"""The register of checks that look across the rows of a table for faults of form.

A check is a function from a table to doubts. Adding one is one function and one line.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from lotscreen.intake.copied import repeated_rows, stuck_values
from lotscreen.intake.hidden import hidden_columns, hidden_rows, merged_readings
from lotscreen.intake.noted import Noted
from lotscreen.intake.numbering import missing_numbers
from lotscreen.intake.stated import count_against_rows
from lotscreen.intake.totals import totals_that_differ
from lotscreen.intake.whole_table import WholeTable

FormCheck = Callable[[WholeTable], Iterable[Noted]]

FORM_CHECKS: list[FormCheck] = [
    missing_numbers,
    stuck_values,
    repeated_rows,
    totals_that_differ,
    count_against_rows,
    hidden_rows,
    hidden_columns,
    merged_readings,
]


def form_doubts(whole: WholeTable) -> list[Noted]:
    """The doubts of all checks, check after check."""
    return [noted for check in FORM_CHECKS for noted in check(whole)]
