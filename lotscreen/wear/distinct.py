"""Distinct rows of a table of numbers: equal readings are computed once."""

from __future__ import annotations

import numpy as np

from lotscreen.records import Floats, Ints


def distinct_rows(rows: Floats) -> tuple[Floats, Ints, Ints]:
    """The distinct rows of ``rows`` (n x columns, no NaN) in rising order, which of them
    each row is (n,), and how often each occurs.

    As ``numpy.unique`` over an axis, several times as fast for thousands of rows.
    """
    if len(rows) < 2:
        return rows, np.zeros(len(rows), np.int64), np.ones(len(rows), np.int64)
    order = np.lexsort(rows.T[::-1])
    sorted_rows = rows[order]
    new = np.ones(len(rows), np.bool_)
    new[1:] = (sorted_rows[1:] != sorted_rows[:-1]).any(axis=1)
    label = np.cumsum(new) - 1
    which = np.empty(len(rows), np.int64)
    which[order] = label
    return sorted_rows[new], which, np.bincount(label)
