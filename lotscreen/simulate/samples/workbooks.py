"""Workbooks written with fixed dates, so that the same cells give the same bytes.

A table is rows of cells: numbers are written as numbers with the decimals that the
instrument shows, texts as texts, None as an empty cell.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping, Sequence
from datetime import datetime
from xml.sax.saxutils import escape, quoteattr

import xlsxwriter

Cell = str | int | float | None
Table = Sequence[Sequence[Cell]]

_MADE = datetime(2026, 1, 1)
_ZIP_DATE = (1980, 1, 1, 0, 0, 0)
_MIME = "application/vnd.oasis.opendocument.spreadsheet"
_NAMESPACES = " ".join(
    f'xmlns:{prefix}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
    for prefix, name in (("office", "office"), ("table", "table"), ("text", "text"))
)
_MANIFEST = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"'
    ' manifest:version="1.2">'
    f'<manifest:file-entry manifest:full-path="/" manifest:version="1.2"'
    f' manifest:media-type="{_MIME}"/>'
    '<manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml"/>'
    "</manifest:manifest>"
)


def xlsx_bytes(tables: Mapping[str, Table], decimals: int) -> bytes:
    """An .xlsx workbook; fractional numbers are shown with ``decimals`` places."""
    held = io.BytesIO()
    with xlsxwriter.Workbook(held, {"in_memory": True}) as book:
        book.set_properties({"created": _MADE})
        shown = book.add_format({"num_format": f"0.{'0' * decimals}"})
        for name, table in tables.items():
            page = book.add_worksheet(name)
            for row, cells in enumerate(table):
                for column, cell in enumerate(cells):
                    if isinstance(cell, str):
                        page.write_string(row, column, cell)
                    elif cell is not None:
                        form = shown if isinstance(cell, float) else None
                        page.write_number(row, column, cell, form)
    return held.getvalue()


def ods_bytes(tables: Mapping[str, Table], decimals: int) -> bytes:
    """An OpenDocument spreadsheet (ISO/IEC 26300) with nothing but its cells."""
    pages = "".join(_ods_table(name, table, decimals) for name, table in tables.items())
    content = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<office:document-content {_NAMESPACES} office:version="1.2"><office:body>'
        f"<office:spreadsheet>{pages}</office:spreadsheet></office:body></office:document-content>"
    )
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        _add(archive, "mimetype", _MIME, zipfile.ZIP_STORED)
        _add(archive, "content.xml", content, zipfile.ZIP_DEFLATED)
        _add(archive, "META-INF/manifest.xml", _MANIFEST, zipfile.ZIP_DEFLATED)
    return held.getvalue()


def _add(archive: zipfile.ZipFile, name: str, text: str, compression: int) -> None:
    entry = zipfile.ZipInfo(name, _ZIP_DATE)
    entry.compress_type = compression
    archive.writestr(entry, text.encode("utf-8"))


def _ods_table(name: str, table: Table, decimals: int) -> str:
    rows = "".join(
        f"<table:table-row>{''.join(_ods_cell(cell, decimals) for cell in cells)}</table:table-row>"
        for cells in table
    )
    return f"<table:table table:name={quoteattr(name)}>{rows}</table:table>"


def _ods_cell(cell: Cell, decimals: int) -> str:
    if cell is None:
        return "<table:table-cell/>"
    if isinstance(cell, str):
        return (
            '<table:table-cell office:value-type="string">'
            f"<text:p>{escape(cell)}</text:p></table:table-cell>"
        )
    shown = f"{cell:.{decimals}f}" if isinstance(cell, float) else str(cell)
    return (
        f'<table:table-cell office:value-type="float" office:value="{cell!r}">'
        f"<text:p>{shown}</text:p></table:table-cell>"
    )
