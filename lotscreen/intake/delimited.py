"""Text files with one row a line: encoding and separator are found from the bytes."""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections import Counter

_SEPARATORS = (";", "\t", ",", "|")
_LINES_LOOKED_AT = 200
_LINE_LOOKED_AT = 20_000  # characters
_BYTE_ORDER_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_ZEROS_OF_UTF16 = 0.6
# Five bytes stand for nothing in cp1252; they are kept as their Latin-1 controls.
_CP1252 = "".join(
    bytes([byte]).decode("cp1252", errors="ignore") or chr(byte) for byte in range(256)
)


def decoded(content: bytes) -> str:
    """The text of a file without zero bytes: by its byte order mark, else as UTF-16 where
    every other byte is zero, else UTF-8, else cp1252."""
    for mark, encoding in _BYTE_ORDER_MARKS:
        if content.startswith(mark):
            return content.decode(encoding, errors="replace").replace("\0", "")
    for first, encoding in ((1, "utf-16-le"), (0, "utf-16-be")):
        half = content[first:2000:2]
        if half.count(0) > _ZEROS_OF_UTF16 * len(half):
            return content.decode(encoding, errors="replace").replace("\0", "")
    try:
        return content.decode("utf-8").replace("\0", "")
    except UnicodeDecodeError:
        return codecs.charmap_decode(content, "strict", _CP1252)[0].replace("\0", "")


def separator_of(text: str) -> str:
    """The separator that cuts most lines into the same number of two or more cells.

    Ties go to the one that cuts into more cells, then to the rarer sign. A first line
    ``sep=;`` says it outright.
    """
    first = text.partition("\n")[0].strip().lower()
    if first.startswith("sep=") and len(first) == len("sep=") + 1:
        return first[-1]
    lines = [line for line in text[:200_000].splitlines() if line.strip()][:_LINES_LOOKED_AT]
    lines = [line[:_LINE_LOOKED_AT] for line in lines]
    best, best_score = ",", (0.0, 0)
    for separator in _SEPARATORS:
        score = _evenness(lines, separator)
        if score > best_score:
            best, best_score = separator, score
    return best


def _evenness(lines: list[str], separator: str) -> tuple[float, int]:
    widths = Counter(len(row) for row in csv.reader(lines, delimiter=separator) if len(row) > 1)
    if not widths:
        return (0.0, 0)
    width, count = max(widths.items(), key=lambda pair: (pair[1], pair[0]))
    return (round(count / len(lines), 1), width)


def parsed(text: str) -> list[list[str]]:
    """The rows of a delimited text. A line ``sep=;`` stays as a row of one cell.

    A cell that is one quotation mark (a ditto mark typed by hand) or begins with one that
    is never closed would swallow the rows below it: of reading the marks as quotes, the
    lone ones as text and all as text, the first that gives most rows of one width wins.
    """
    separator = separator_of(text)
    quoted = _rows(text, separator)
    if text.count('"') == 0:
        return quoted
    sign = re.escape(separator)
    lone = re.compile(rf'(?:(?<=^)|(?<={sign}))"(?={sign}|\r?$)', re.MULTILINE)
    tries = [quoted]
    if lone.search(text):
        tries.append(_rows(lone.sub('""""', text), separator))
    if any("\n" in cell for row in quoted for cell in row):
        tries.append(_all_as_text(text, separator))
    return max(tries, key=_even_rows)


def _rows(text: str, separator: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))


def _all_as_text(text: str, separator: str) -> list[list[str]]:
    lines = io.StringIO(text, newline="")
    rows = csv.reader(lines, delimiter=separator, quoting=csv.QUOTE_NONE)
    closed = re.compile(r'"([^"]*)"')
    return [[closed.sub(r"\1", c) if closed.fullmatch(c) else c for c in row] for row in rows]


def _even_rows(rows: list[list[str]]) -> int:
    """How many rows have the width that most rows have."""
    return max(Counter(map(len, filter(None, rows))).values(), default=0)
