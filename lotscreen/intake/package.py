"""Workbooks that are zip archives, looked at before a reader that trusts them may.

Each part is unpacked within bounds, so that neither its size nor the extent that its cells
claim can use up the memory. The same look finds what the cells alone do not say: hidden
rows, formulas never calculated, cells that show an error, merged cells.
"""

from __future__ import annotations

import io
import lzma
import re
import struct
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from copy import copy
from html import unescape

from lotscreen.intake.extent import reach_of
from lotscreen.intake.grid import Place, SheetMarks, column_number
from lotscreen.records import InputError
from lotscreen.words import say

MOST_BYTES = 300_000_000
"""Unpacked bytes of all parts together: a million rows of eight columns need 250 MB."""
MOST_CELLS = 16_000_000
"""Cells of the rectangle that holds a sheet, empty ones too: each takes memory."""

BROKEN_ARCHIVE = (
    zipfile.BadZipFile, zlib.error, lzma.LZMAError, struct.error, EOFError, OSError,
    NotImplementedError, RuntimeError, ValueError, OverflowError,
)  # fmt: skip
"""What the library raises of archives that are damaged in one way or another."""

_SHORTEST_CELL = 25  # bytes of a cell that points to a string
_PROLOGUE = 65_536  # bytes in which a document declares its types and entities
_XML = re.compile(r"\.(?:xml|rels)$", re.I)
_DECLARED = re.compile(rb"<!(?:DOCTYPE|ENTITY)")
_SHEET_TAG = re.compile(rb"<(?:\w+:)?sheet\s([^>]*)>")
_RELATION_TAG = re.compile(rb"<(?:\w+:)?Relationship\s([^>]*)>")
_ATTRIBUTE = re.compile(rb"""([\w:]+)\s*=\s*(?:"([^"]*)"|'([^']*)')""")
_HIDDEN_ROW = re.compile(rb"""<(?:\w+:)?row\s[^>]*\bhidden=["'](?:1|true)["'][^>]*>""")
_HIDDEN_COLUMNS = re.compile(rb"""<(?:\w+:)?col\s[^>]*\bhidden=["'](?:1|true)["'][^>]*>""")
_ERROR_CELL = re.compile(
    rb"""<(?:\w+:)?c\s(?=[^>]*\bt=["']e["'])[^>]*\br=["']([A-Z]+)(\d+)["'][^>]*>(.*?)</(?:\w+:)?c>""",
    re.DOTALL,
)
_STRING_CELL = re.compile(rb"""<(?:\w+:)?c\s[^>]*\bt="s"[^>]*>\s*<(?:\w+:)?v>(\d{1,9})</""")
_VALUE = re.compile(rb"<(?:\w+:)?v[^>]*>([^<]*)</")
_FORMULA = re.compile(rb"<(?:\w+:)?f[\s/>]")
_EMPTY_FORMULA = re.compile(
    rb"""<(?:\w+:)?c\s[^>]*\br=["']([A-Z]+)(\d+)["'][^>]*>\s*<(?:\w+:)?f(?:\s[^>]*)?(?:/>|>([^<]*)</(?:\w+:)?f>)\s*"""
    rb"(?:<(?:\w+:)?v\s*/>|<(?:\w+:)?v></(?:\w+:)?v>)?\s*</(?:\w+:)?c>"
)
_MERGED = re.compile(rb"""<(?:\w+:)?mergeCell\s[^>]*\bref=["']([A-Z]+)(\d+):([A-Z]+)(\d+)["']""")
_ODS_TAG = re.compile(rb"<table:(?:table-|covered-table-)(row|cell)\b([^>]*)>")
_ODS_HIDDEN_ROW = re.compile(
    rb"""<table:table-row\b[^>]*\btable:visibility=["'](?:collapse|filter)["'][^>]*>"""
)


def checked_package(content: bytes, name: str) -> Mapping[str, SheetMarks]:
    """What is known of each sheet by its name; InputError where the archive is broken or
    would unpack to more than can be read."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            return _Package(archive, name).marks()
    except BROKEN_ARCHIVE as error:
        if "encrypted" in str(error) or "password" in str(error):
            raise InputError(say("intake.error.password", file=name)) from error
        why = say("intake.error.cut_off")
        raise InputError(say("intake.error.broken", file=name, why=why)) from error


class _Package:
    """An archive, part by part; no part is kept longer than it is looked at."""

    def __init__(self, archive: zipfile.ZipFile, name: str) -> None:
        self._archive = archive
        self._name = name
        self._parts = {part.filename: part for part in archive.infolist()}
        if sum(part.file_size for part in self._parts.values()) > MOST_BYTES:
            raise self._bomb()

    def marks(self) -> dict[str, SheetMarks]:
        if b"encryption-data" in self._text("META-INF/manifest.xml"):
            raise InputError(say("intake.error.password", file=self._name))
        if "content.xml" in self._parts:
            return _marks_of_ods(self._text("content.xml"), self._name)
        macros = any(part.lower().endswith("vbaproject.bin") for part in self._parts)
        sheets = dict(
            _sheet_parts(self._text("xl/workbook.xml"), self._text("xl/_rels/workbook.xml.rels"))
        )
        for part in self._parts:
            if _XML.search(part) and part not in sheets.values():
                self._text(part)
        lengths = _lengths_of_strings(self._text("xl/sharedStrings.xml"))
        found = {}
        for sheet, part in sheets.items():
            text = self._text(part)
            if _length_of_words(text, lengths) > MOST_BYTES:
                raise self._bomb()
            found[sheet] = _marks_of_sheet(text, sheet, self._name, macros)
        return found

    def _text(self, name: str) -> bytes:
        """One part, at most as long as the archive says; b"" where there is none."""
        part = self._parts.get(name)
        if part is None:
            return b""
        asked = copy(part)
        asked.file_size = part.file_size + 1  # one more than promised shows a false promise
        with self._archive.open(asked) as unpacking:
            text = unpacking.read(asked.file_size)
        if len(text) > part.file_size:
            raise self._bomb()
        if _DECLARED.search(text[:_PROLOGUE]):
            raise InputError(say("intake.error.entities", file=self._name))
        return text

    def _bomb(self) -> InputError:
        most = MOST_BYTES // 1_000_000
        return InputError(say("intake.error.bomb", file=self._name, most=most))


def _attributes(tag: bytes) -> dict[str, str]:
    return {
        found[1].decode(): unescape((found[2] or found[3] or b"").decode("utf-8", "replace"))
        for found in _ATTRIBUTE.finditer(tag)
    }


def _sheet_parts(workbook: bytes, relations: bytes) -> Iterator[tuple[str, str]]:
    """Name of each worksheet and the part that holds it."""
    targets = {}
    for tag in _RELATION_TAG.finditer(relations):
        said = _attributes(tag[1])
        target = said.get("Target", "")
        targets[said.get("Id", "")] = target.lstrip("/") if target[:1] == "/" else f"xl/{target}"
    for tag in _SHEET_TAG.finditer(workbook):
        said = _attributes(tag[1])
        relation = next((said[key] for key in said if key.endswith(":id")), "")
        if relation in targets:
            yield said.get("name", ""), targets[relation]


def _lengths_of_strings(text: bytes) -> list[int]:
    """How long each of the strings is that cells point to, tags counted in."""
    return [len(string) for string in text.split(b"</si>")[:-1]]


def _length_of_words(text: bytes, lengths: Sequence[int]) -> int:
    """Bytes that the strings of a sheet's cells take, one copy a cell; a bound suffices
    where it is small."""
    longest = max(lengths, default=0)
    if len(text) // _SHORTEST_CELL * longest <= MOST_BYTES:
        return 0
    most = text.count(b't="s"') * longest
    if most <= MOST_BYTES:
        return most
    found = Counter(int(number) for number in _STRING_CELL.findall(text))
    return sum(n * lengths[at] for at, n in found.items() if at < len(lengths))


def _marks_of_sheet(text: bytes, sheet: str, file: str, macros: bool) -> SheetMarks:
    """Each search is made only where its word occurs at all: a sheet may be long."""
    reach = reach_of(text)
    _refuse_too_wide((reach.rows, reach.columns), sheet, file)
    before, after = text.find(b"sheetData"), text.rfind(b"sheetData")
    head, tail = text[: max(before, 0)], text[max(after, 0) :]
    return SheetMarks(
        hidden_rows=frozenset(_hidden_rows(text) if b"hidden" in text else ()),
        hidden_columns=frozenset(_hidden_columns(head)),
        errors={_place(c[1], c[2]): _value(c[3]) for c in _error_cells(text, reach.apostrophes)},
        formulas=len(_FORMULA.findall(text)) if reach.formulas else 0,
        never_calculated=_never_calculated(text) if reach.formulas else {},
        merged=tuple((_place(m[1], m[2]), _place(m[3], m[4])) for m in _MERGED.finditer(tail)),
        filtered=b"autoFilter" in tail,
        macros=macros,
    )


def _never_calculated(text: bytes) -> dict[Place, str]:
    return {
        _place(c[1], c[2]): "=" + unescape((c[3] or b"").decode("utf-8", "replace"))
        for c in _EMPTY_FORMULA.finditer(text)
    }


def _hidden_rows(text: bytes) -> Iterator[int]:
    return (
        int(_attributes(tag[0])["r"]) - 1 for tag in _HIDDEN_ROW.finditer(text) if b" r=" in tag[0]
    )


def _hidden_columns(text: bytes) -> Iterator[int]:
    for tag in _HIDDEN_COLUMNS.finditer(text):
        yield from _column_range(_attributes(tag[0]))


def _error_cells(text: bytes, apostrophes: bool) -> Iterator[re.Match[bytes]]:
    if b"#" not in text:  # every error's text begins so
        return
    if b't="e"' in text or (apostrophes and b"t='e'" in text):
        yield from _ERROR_CELL.finditer(text)


def _value(inside: bytes) -> str:
    value = _VALUE.search(inside)
    return unescape(value[1].decode("utf-8", "replace")) if value is not None else ""


def _place(letters: bytes, number: bytes) -> Place:
    return int(number) - 1, column_number(letters.decode())


def _column_range(said: Mapping[str, str]) -> range:
    first, last = said.get("min", ""), said.get("max", "")
    if not (first.isdecimal() and last.isdecimal()):
        return range(0)
    return range(int(first) - 1, min(int(last), 20_000))


def _refuse_too_wide(extent: tuple[int, int], sheet: str, file: str) -> None:
    rows, columns = extent
    if rows * columns > MOST_CELLS:
        raise InputError(
            say("intake.error.too_wide", file=file, sheet=sheet, rows=rows, columns=columns)
        )


def _marks_of_ods(text: bytes, file: str) -> dict[str, SheetMarks]:
    """Marks of the sheets of an OpenDocument file; of them only that rows are hidden."""
    found: dict[str, SheetMarks] = {}
    for table in re.split(rb"(?=<table:table\b(?!-))", text)[1:]:
        sheet = _attributes(table[: table.find(b">")]).get("table:name", "")
        rows, columns, length = _extent_of_ods(table)
        _refuse_too_wide((rows, columns), sheet, file)
        if length > MOST_BYTES:
            raise InputError(say("intake.error.bomb", file=file, most=MOST_BYTES // 1_000_000))
        hidden = sum(_repeats(row[0], b"rows") for row in _ODS_HIDDEN_ROW.finditer(table))
        found[sheet] = SheetMarks(hidden_count=hidden)
    return found


def _extent_of_ods(table: bytes) -> tuple[int, int, int]:
    """Rows and columns up to the last cell with a value, and the bytes of all values;
    repeated cells count as often."""
    rows = rows_to_value = columns_to_value = column = length = 0
    repeated_row = 1
    for tag in _ODS_TAG.finditer(table):
        attributes = tag[2]
        if tag[1] == b"row":
            repeated_row, column = _repeats(attributes, b"rows"), 0
            rows += repeated_row
            continue
        repeated = _repeats(attributes, b"columns")
        column += repeated
        if b"value" in attributes:
            columns_to_value = max(columns_to_value, column)
            rows_to_value = rows
            if repeated * repeated_row > 1:
                inside = table.find(b"</table:table-cell>", tag.end()) - tag.end()
                length += max(inside, 0) * repeated * repeated_row
    return rows_to_value, columns_to_value, length


def _repeats(attributes: bytes, of: bytes) -> int:
    found = re.search(rb"number-" + of + rb"""-repeated=["'](\d{1,9})["']""", attributes)
    return int(found[1]) if found is not None else 1
