"""The register of training pieces from which practice trays are built.

Lessons: what is hard is measured; some pieces no reading can tell; a bent coin is honest.
"""

from __future__ import annotations

from lotscreen.simulate.register import register_lot, register_sheet
from lotscreen.simulate.samples.files import SampleLot, csv_bytes, frame_rows, key_bytes
from lotscreen.standards import StandardsTable

_SEED = 7


def training_register(standards: StandardsTable) -> SampleLot:
    """A register as it is kept: a row a piece, with permission and box."""
    lot = register_lot(standards, _SEED)
    return SampleLot(
        file_name="trays/register.csv",
        sheet=csv_bytes(frame_rows(register_sheet(lot, f"P{_SEED}"))),
        key_name="register_key.csv",
        key=key_bytes(lot.key),
    )
