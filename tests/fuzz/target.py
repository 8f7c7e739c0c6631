"""What every file must hold to, whatever is in it: a message or an intake, never a fault."""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np

from lotscreen.intake import ReadOptions, read_sheets
from lotscreen.records import InputError

SUFFIXES = (".csv", ".xlsx", ".ods", ".xls", ".tsv", ".txt", ".xlsm", ".parquet")
_OPTIONS = ReadOptions(weight_unit="g")
_FOLDER = Path(tempfile.mkdtemp(prefix="fuzz-"))


def read_bytes(data: bytes) -> str:
    """Read ``data`` (its first byte says of which suffix) as a file; 'read' or 'refused'.

    AssertionError where a row is lost, an id is not unique or a reading is no number.
    """
    suffix = SUFFIXES[data[0] % len(SUFFIXES)] if data else SUFFIXES[0]
    path = _FOLDER / f"lot{suffix}"
    path.write_bytes(data[1:])
    try:
        intake = read_sheets([path], _OPTIONS)
    except InputError:
        return "refused"
    assert intake.rows_read == len(intake.items) + len(intake.left_out)
    assert sum(source.rows for source in intake.sources) == intake.rows_read
    assert intake.items["item_id"].is_unique
    assert set(intake.readings["item_id"]) <= set(intake.items["item_id"])
    assert np.isfinite(intake.readings["value"].to_numpy(np.float64)).all()
    assert (intake.readings["step"].to_numpy(np.float64) > 0).all()
    return "read"
