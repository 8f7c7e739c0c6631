"""Files that no text in a table can hold: archives, workbooks, bytes.

Each maker returns the bytes of one file. Workbooks are made whole by a library and then
changed in one place, as a broken program or a hostile hand would.
"""

from __future__ import annotations

import gzip
import io
import itertools
import struct
import zipfile
from collections.abc import Callable, Mapping, Sequence

import openpyxl
import pandas as pd
import xlsxwriter

Rows = Sequence[Sequence[object]]
HALVES: Rows = [
    ["no", "type", "date", "weight_g"],
    [1, "US half dollar", 1876, 12.41],
    [2, "US half dollar", 1877, 12.32],
    [3, "US half dollar", 1878, 12.36],
]
SHEET = "xl/worksheets/sheet1.xml"


def workbook(rows: Rows = HALVES) -> bytes:
    """A sound .xlsx of one sheet."""
    held = io.BytesIO()
    with xlsxwriter.Workbook(held, {"in_memory": True}) as book:
        sheet = book.add_worksheet("Lot")
        for at, row in enumerate(rows):
            sheet.write_row(at, 0, row)
    return held.getvalue()


def changed(content: bytes, change: Callable[[str, bytes], bytes | None]) -> bytes:
    """An archive with each part changed; None leaves a part out."""
    held = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(held, "w") as new:
        for part in old.infolist():
            text = change(part.filename, old.read(part))
            if text is not None:
                new.writestr(part.filename, text, zipfile.ZIP_DEFLATED)
    return held.getvalue()


def in_sheet(before: bytes, after: bytes) -> bytes:
    """The sound workbook with one piece of its sheet's text changed."""
    return changed(
        workbook(), lambda name, text: text.replace(before, after, 1) if name == SHEET else text
    )


def far_corner() -> bytes:
    """One more cell, in the last row and column that the format has."""
    return in_sheet(
        b"</sheetData>", b'<row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>'
    )


def many_empty_columns() -> bytes:
    """Every row styled to the last column, as some programs do, thousands of rows deep."""
    rows = b"".join(
        b'<row r="%d"><c r="XFD%d" t="str"><v></v></c></row>' % (n, n) for n in range(5, 2000)
    )
    return in_sheet(b"</sheetData>", rows + b"</sheetData>")


def bomb() -> bytes:
    """A part that unpacks to more than any table of coins: 400 MB of blanks."""
    held = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(workbook())) as old, zipfile.ZipFile(held, "w") as new:
        for part in old.infolist():
            new.writestr(part.filename, old.read(part), zipfile.ZIP_DEFLATED)
        info = zipfile.ZipInfo("xl/theme/blank.xml")
        info.compress_type = zipfile.ZIP_DEFLATED
        with new.open(info, "w", force_zip64=True) as out:
            block = b" " * 4_000_000
            for _ in range(100):
                out.write(block)
    return held.getvalue()


def lying_bomb() -> bytes:
    """A sheet that unpacks to more than its entry in the archive promises."""
    content = changed(
        workbook(), lambda name, text: text + b" " * 50_000_000 if name == SHEET else text
    )
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        size = archive.getinfo(SHEET).file_size
    return content.replace(struct.pack("<L", size), struct.pack("<L", 10_000))


def entities() -> bytes:
    """Entities that expand one another, a thousand million times in all."""
    names = "abcdefghij"
    declared = f'<!ENTITY {names[0]} "ha">' + "".join(
        f'<!ENTITY {b} "{f"&{a};" * 10}">' for a, b in itertools.pairwise(names)
    )
    start = b'<?xml version="1.0"?><!DOCTYPE x [' + declared.encode() + b"]>"

    def change(name: str, text: bytes) -> bytes:
        if name != SHEET:
            return text
        return start + text[text.index(b"<worksheet") :].replace(b"<v>12.41</v>", b"<v>&j;</v>")

    return changed(workbook(), change)


def shared_string_bomb() -> bytes:
    """A long string that thousands of cells point to."""
    content = workbook([["no", "weight_g", "remark"], *([n, 12.4, "x" * 30_000] for n in range(2))])
    cells = b"".join(
        b'<row r="%d"><c r="C%d" t="s"><v>3</v></c></row>' % (n, n) for n in range(4, 40_000)
    )
    return changed(
        content,
        lambda name, text: (
            text.replace(b"</sheetData>", cells + b"</sheetData>") if name == SHEET else text
        ),
    )


def truncated() -> bytes:
    """The second half is missing, as after a broken download."""
    content = workbook()
    return content[: len(content) // 2]


def damaged_inside() -> bytes:
    """Some bytes in the middle were overwritten."""
    content = bytearray(workbook())
    with zipfile.ZipFile(io.BytesIO(bytes(content))) as archive:
        start = archive.getinfo(SHEET).header_offset + 60
    content[start : start + 40] = b"\xff" * 40
    return bytes(content)


def sheet_cut_off() -> bytes:
    """The sheet's text ends in the middle of a tag."""
    return changed(workbook(), lambda name, text: text[:-300] if name == SHEET else text)


def no_sheet_part() -> bytes:
    """The workbook names a sheet that is not in the archive."""
    return changed(workbook(), lambda name, text: None if name == SHEET else text)


def error_cells() -> bytes:
    """Formulas that end in errors."""
    return in_sheet(b'<c r="D2"><v>12.41</v></c>', b'<c r="D2" t="e"><f>A1/0</f><v>#DIV/0!</v></c>')


def never_calculated() -> bytes:
    """A formula written by a program that does not calculate."""
    book = openpyxl.Workbook()
    for row in HALVES:
        book.active.append(row)
    book.active["D3"] = "=D2-0.1"
    held = io.BytesIO()
    book.save(held)
    return held.getvalue()


def hidden_rows() -> bytes:
    """A filter left two of three coins hidden."""
    book = openpyxl.Workbook()
    for row in HALVES:
        book.active.append(row)
    for row in (3, 4):
        book.active.row_dimensions[row].hidden = True
    book.active.auto_filter.ref = "A1:D4"
    held = io.BytesIO()
    book.save(held)
    return held.getvalue()


def macros() -> bytes:
    """A workbook with a macro project, which is never run."""
    content = io.BytesIO(workbook())
    with zipfile.ZipFile(content, "a") as archive:
        archive.writestr("xl/vbaProject.bin", b"\xd0\xcf\x11\xe0 not a real project")
    return content.getvalue()


def encrypted() -> bytes:
    """What a workbook with a password is: a compound file that holds the encrypted package."""
    sector = bytearray(512)
    for at, name in enumerate(("Root Entry", "EncryptedPackage", "EncryptionInfo")):
        text = f"{name}\0".encode("utf-16-le")
        sector[at * 128 : at * 128 + len(text)] = text
    head = bytes.fromhex("d0cf11e0a1b11ae1") + b"\0" * 504
    return head + bytes(sector) + b"\0" * 4096


def encrypted_ods() -> bytes:
    """An OpenDocument file whose content is encrypted."""
    return _ods(b"\x80\x81" * 400, b"<manifest:encryption-data/>")


def _ods(content: bytes, manifest: bytes = b"") -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("content.xml", content)
        archive.writestr("META-INF/manifest.xml", b"<manifest>" + manifest + b"</manifest>")
    return held.getvalue()


def repeated_ods() -> bytes:
    """One cell, repeated in every column of every row that the format has."""
    return _ods(
        b'<office:body><table:table table:name="S"><table:table-row table:number-rows-repeated='
        b'"1048576"><table:table-cell office:value-type="float" office:value="1" '
        b'table:number-columns-repeated="16384"/></table:table-row></table:table></office:body>'
    )


def zip_of_pictures() -> bytes:
    """An archive that is no workbook."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        archive.writestr("one.png", b"\x89PNG")
    return held.getvalue()


def long_cell() -> bytes:
    """A cell of ten million characters."""
    return b"no,weight_g,remark\n1,12.4," + b"x" * 10_000_000 + b"\n2,12.3,\n"


def open_quote() -> bytes:
    """A quotation mark that is never closed, a megabyte before the end."""
    return b'no,weight_g,remark\n1,12.4,"' + b"2,12.3,ok\n" * 100_000


def a_million_commas() -> bytes:
    """A row with a million cells in it, most of them empty."""
    return b"no,weight_g" + b"," * 1_000_000 + b"\n1,12.4\n2,12.3" + b",x" * 3000 + b"\n"


def commas_beyond_number() -> bytes:
    """Twenty million cells of nothing."""
    return b"no,weight_g\n1,12.4\n" + (b"," * 2_000 + b"\n") * 10_000


def deep_parquet() -> bytes:
    """A column of lists: cells that are no cells."""
    held = io.BytesIO()
    pd.DataFrame({"no": [1, 2], "weight_g": [[12.4], [12.3, 1.0]]}).to_parquet(held)
    return held.getvalue()


def truncated_parquet() -> bytes:
    held = io.BytesIO()
    pd.DataFrame({"no": [1, 2], "weight_g": [12.4, 12.3]}).to_parquet(held)
    return held.getvalue()[:-40]


MAKERS: Mapping[str, Callable[[], bytes]] = {
    "workbook": workbook,
    "far_corner": far_corner,
    "many_empty_columns": many_empty_columns,
    "bomb": bomb,
    "lying_bomb": lying_bomb,
    "entities": entities,
    "shared_string_bomb": shared_string_bomb,
    "truncated": truncated,
    "damaged_inside": damaged_inside,
    "sheet_cut_off": sheet_cut_off,
    "no_sheet_part": no_sheet_part,
    "error_cells": error_cells,
    "never_calculated": never_calculated,
    "hidden_rows": hidden_rows,
    "macros": macros,
    "encrypted": encrypted,
    "encrypted_ods": encrypted_ods,
    "repeated_ods": repeated_ods,
    "zip_of_pictures": zip_of_pictures,
    "gzipped": lambda: gzip.compress(b"no,weight_g\n1,12.4\n"),
    "pdf": lambda: b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n1 0 obj\n",
    "picture": lambda: b"\x89PNG\r\n\x1a\n" + b"\0" * 64,
    "page": lambda: b"<!DOCTYPE html><html><table><tr><td>weight_g</td></tr></table></html>",
    "long_cell": long_cell,
    "open_quote": open_quote,
    "a_million_commas": a_million_commas,
    "commas_beyond_number": commas_beyond_number,
    "deep_parquet": deep_parquet,
    "truncated_parquet": truncated_parquet,
    "nul_bytes": lambda: b"no,weight_g\n1,12.4\n\0\0\0\n2,12.3\n",
    "utf16": lambda: "no;weight_g\n1;12,4\n2;12,3\n".encode("utf-16"),
    "utf16_bare": lambda: "no;weight_g\n1;12,4\n2;12,3\n".encode("utf-16-le"),
    "cp1252": lambda: "no;Gewicht (g);Größe\n1;12,4;ä\n2;12,3;ö\n".encode("cp1252"),
    "blank_lines": lambda: b"\n \n\t\n",
    "nothing": lambda: b"",
}
