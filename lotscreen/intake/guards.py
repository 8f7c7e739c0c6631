"""What a file is by its first bytes, and which files are not even tried."""

from __future__ import annotations

import hashlib
import io
import os
import zipfile
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path, PurePath

from lotscreen.intake.grid import Sheet
from lotscreen.intake.package import BROKEN_ARCHIVE, MOST_CELLS
from lotscreen.records import InputError
from lotscreen.words import say

MOST_FILE_BYTES = 200_000_000
"""A million coins as text take 60 MB, as a workbook 40 MB."""

MOST_COLUMNS = 1_000
USUAL_COLUMNS = 200

_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_SIGNS: tuple[tuple[bytes, str], ...] = (
    (b"%PDF", "pdf"),
    (b"\x89PNG", "picture"),
    (b"\xff\xd8\xff", "picture"),
    (b"GIF8", "picture"),
    (b"\x1f\x8b", "archive"),
    (b"7z\xbc\xaf", "archive"),
    (b"Rar!", "archive"),
    (b"SQLite format 3\x00", "database"),
    (b"\x7fELF", "program"),
    (b"MZ\x90", "program"),
    (b"PAR1", ".parquet"),
)
_ENCRYPTED = "EncryptedPackage".encode("utf-16-le")
_TEXT_SUFFIXES = (".csv", ".tsv", ".txt")
_BINARY_SUFFIXES = (".xlsx", ".xlsm", ".xls", ".ods", ".parquet")
_MARKUP = (b"<!doctype html", b"<html", b"<table", b"<?xml", b"{\\rtf")


def content_of(path: Path) -> bytes:
    """The bytes of a file; InputError where it cannot be read whole, or changed meanwhile."""
    try:
        with path.open("rb") as file:
            before = os.fstat(file.fileno())
            if before.st_size > MOST_FILE_BYTES:
                most = MOST_FILE_BYTES // 1_000_000
                raise InputError(say("intake.error.too_large", file=path.name, most=most))
            content = file.read(MOST_FILE_BYTES + 1)
            after = os.fstat(file.fileno())
    except OSError as error:
        why = error.strerror or str(error)
        raise InputError(say("intake.error.not_opened", file=path.name, why=why)) from error
    if len(content) > MOST_FILE_BYTES:
        most = MOST_FILE_BYTES // 1_000_000
        raise InputError(say("intake.error.too_large", file=path.name, most=most))
    if _moment(before) != _moment(after) or len(content) != after.st_size > 0:
        raise InputError(say("intake.error.changed", file=path.name))
    if not content.strip():
        raise InputError(say("intake.error.empty_file", file=path.name))
    return content


def _moment(state: os.stat_result) -> tuple[int, int]:
    return state.st_size, state.st_mtime_ns


def digest_of(content: bytes) -> str:
    """SHA-256 of a file's bytes, in hex."""
    return hashlib.sha256(content).hexdigest()


def refuse_other_kind(content: bytes, name: str) -> None:
    """InputError where the content is not of the kind that the name's suffix says."""
    suffix = PurePath(name).suffix.lower()
    if suffix not in (*_TEXT_SUFFIXES, *_BINARY_SUFFIXES):
        return  # a reader of the user's own
    kind = _kind_of(content)
    if kind == "encrypted":
        raise InputError(say("intake.error.password", file=name))
    if kind == "cut off" or (not kind and suffix in _BINARY_SUFFIXES):
        why = say(f"intake.error.{'cut_off' if kind else 'not_such_a_file'}")
        raise InputError(say("intake.error.broken", file=name, why=why))
    if kind.startswith(".") and kind != suffix and {kind, suffix} != {".xlsx", ".xlsm"}:
        renamed = PurePath(name).with_suffix(kind).name
        raise InputError(say("intake.error.suffix_wrong", file=name, kind=kind, renamed=renamed))
    if kind and not kind.startswith("."):
        what = say(f"intake.other_kind.{kind}")
        raise InputError(say("intake.error.no_sheet_at_all", file=name, what=what))


def within_bounds(sheet: Sheet, file: str) -> Sheet:
    """The sheet without the empty cells that trail its rows; InputError where it is wider
    than any table of coins, or has more cells than fit."""
    if max(map(len, sheet.rows), default=0) <= USUAL_COLUMNS:
        return sheet
    rows = [_trimmed(row) for row in sheet.rows]
    widest = max(map(len, rows), default=0)
    if widest > MOST_COLUMNS or widest * len(rows) > MOST_CELLS:
        facts = {"rows": len(rows), "columns": widest}
        raise InputError(say("intake.error.too_wide", file=file, sheet=sheet.name, **facts))
    return replace(sheet, rows=rows)


def _trimmed(row: Sequence[object]) -> Sequence[object]:
    end = len(row)
    while end and row[end - 1] in ("", None):
        end -= 1
    return row[:end]


def _kind_of(content: bytes) -> str:
    """A suffix, a word for another kind of file, 'encrypted', 'cut off' (an archive without
    its end), or '' for text and what is not known."""
    if content.startswith(b"PK"):
        return _kind_of_archive(content)
    if content.startswith(_OLE):
        return "encrypted" if _ENCRYPTED in content else ".xls"
    for sign, kind in _SIGNS:
        if content.startswith(sign):
            return kind
    start = content[:512].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if start.startswith(_MARKUP):
        return "markup"
    return ""


def _kind_of_archive(content: bytes) -> str:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            names = set(archive.namelist())
    except BROKEN_ARCHIVE:
        return "cut off"
    if "xl/workbook.xml" in names:
        return ".xlsx"
    if "content.xml" in names:
        return ".ods"
    return "archive"
