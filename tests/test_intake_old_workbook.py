"""The old binary .xls format: a workbook made by hand, record by record, is read.

No library that writes the format is needed: five kinds of BIFF8 records (BOF,
BoundSheet8, Label, Number, EOF) in one stream of a compound file.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from pathlib import Path

import pytest

from lotscreen.intake import read_sheets
from lotscreen.records import InputError

_SECTOR = 512
_FREE, _END, _FAT = 0xFFFFFFFF, 0xFFFFFFFE, 0xFFFFFFFD


def _record(kind: int, body: bytes) -> bytes:
    return struct.pack("<HH", kind, len(body)) + body


def _begin(kind: int) -> bytes:
    return _record(0x809, struct.pack("<HHHHII", 0x600, kind, 0, 0, 0, 0))


def _cell(row: int, column: int, value: object) -> bytes:
    if isinstance(value, float):
        return _record(0x203, struct.pack("<HHHd", row, column, 0, value))
    text = str(value)
    head = struct.pack("<HHHHB", row, column, 0, len(text), 1)
    return _record(0x204, head + text.encode("utf-16-le"))


def _stream(rows: Sequence[Sequence[object]]) -> bytes:
    end = _record(0x0A, b"")
    name = b"Lot"
    sheet_at = len(_begin(5)) + 4 + 8 + len(name) + len(end)
    sheet = _record(0x85, struct.pack("<IHBB", sheet_at, 0, len(name), 0) + name)
    cells = b"".join(
        _cell(r, c, value) for r, row in enumerate(rows) for c, value in enumerate(row)
    )
    content = _begin(5) + sheet + end + _begin(0x10) + cells + end
    return content.ljust(-(-max(len(content), 4096) // _SECTOR) * _SECTOR, b"\0")


def _entry(name: str, kind: int, child: int, first: int, size: int) -> bytes:
    text = f"{name}\0".encode("utf-16-le") if name else b""
    numbers = struct.pack(
        "<HBBIII16sIQQIQ", len(text), kind, 1, _FREE, _FREE, child, b"", 0, 0, 0, first, size
    )
    return text.ljust(64, b"\0") + numbers


def old_workbook(rows: Sequence[Sequence[object]]) -> bytes:
    """A workbook with one sheet 'Lot': sector 0 the FAT, 1 the directory, then the stream."""
    stream = _stream(rows)
    sectors = len(stream) // _SECTOR
    chain = [_FAT, _END, *range(3, sectors + 2), _END]
    fat = struct.pack("<128I", *chain, *[_FREE] * (128 - len(chain)))
    directory = (
        _entry("Root Entry", 5, 1, _END, 0)
        + _entry("Workbook", 2, _FREE, 2, len(stream))
        + _entry("", 0, _FREE, 0, 0) * 2
    )
    magic = bytes.fromhex("d0cf11e0a1b11ae1")
    header = struct.pack("<8s16sHHHHH6s", magic, b"", 0x3E, 3, 0xFFFE, 9, 6, b"")
    header += struct.pack("<10I", 0, 1, 1, 0, 4096, _END, 0, _END, 0, 0)[:36]
    header += struct.pack("<109I", 0, *[_FREE] * 108)
    return header + fat + directory + stream


def test_an_old_workbook_is_read(tmp_path: Path) -> None:
    rows = [
        ["coin_id", "type", "weight_g"],
        ["A-1", "US half dollar", 12.45],
        [7.0, "Fünf Mark", 27.7],
    ]
    path = tmp_path / "old.xls"
    path.write_bytes(old_workbook(rows))
    intake = read_sheets([path])
    assert intake.items["coin_id"].tolist() == ["A-1", "7"]
    assert intake.items["type_text"].tolist() == ["US half dollar", "Fünf Mark"]
    assert intake.items["source_sheet"].tolist() == ["Lot", "Lot"]
    assert intake.readings["value"].tolist() == [12.45, 27.7]


@pytest.mark.parametrize("kept", [20, 600, 1100, 1500, 3000])
def test_a_truncated_old_workbook_is_refused_by_name(tmp_path: Path, kept: int) -> None:
    path = tmp_path / "short.xls"
    path.write_bytes(old_workbook([["no", "weight_g"], ["1", 12.45]])[:kept])
    with pytest.raises(InputError, match=r"short\.xls"):
        read_sheets([path])
