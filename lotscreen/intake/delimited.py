"""Text files with one row a line: encoding and separator are found from the bytes."""

from __future__ import annotations

import codecs
import csv
import io
from collections import Counter

_SEPARATORS = (";", "\t", ",", "|")
_LINES_LOOKED_AT = 200
_BYTE_ORDER_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
# Five bytes stand for nothing in cp1252; they are kept as their Latin-1 controls.
_WINDOWS_WESTERN = "".join(
    bytes([byte]).decode("cp1252", errors="ignore") or chr(byte) for byte in range(256)
)


def decoded(content: bytes) -> str:
    """The text of a file: by its byte order mark, else UTF-8, else Windows western."""
    for mark, encoding in _BYTE_ORDER_MARKS:
        if content.startswith(mark):
            return content.decode(encoding, errors="replace")
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError:
        return codecs.charmap_decode(content, "strict", _WINDOWS_WESTERN)[0]


def separator_of(text: str) -> str:
    """The separator that cuts most lines into the same number of two or more cells.

    Ties go to the one that cuts into more cells, then to the rarer sign. A first line
    ``sep=;`` says it outright.
    """
    first = text.partition("\n")[0].strip().lower()
    if first.startswith("sep=") and len(first) == len("sep=") + 1:
        return first[-1]
    lines = [line for line in text[:200_000].splitlines() if line.strip()][:_LINES_LOOKED_AT]
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
    """The rows of a delimited text. A line ``sep=;`` stays as a row of one cell."""
    return list(csv.reader(io.StringIO(text, newline=""), delimiter=separator_of(text)))
