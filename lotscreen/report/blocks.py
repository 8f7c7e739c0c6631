"""What a page is made of: a few kinds of block, typeset by ``typeset/report.typ``.

Pages never write markup. They hand over blocks whose texts are plain strings, so that a
cell of the user's sheet can never be taken for an instruction to the typesetter.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

Align = Literal["left", "right", "center"]


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading and a bookmark. Level 1 starts a new page and names it in the header."""

    text: str
    level: int = 2
    new_page: bool = False


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text. ``tone``: 'body', 'lead' (larger), 'note' (small and grey), 'intro' (a
    note that stays on the page of what follows) or 'alert' (a rule in the margin)."""

    text: str
    tone: Literal["body", "lead", "note", "intro", "alert"] = "body"


@dataclass(frozen=True, slots=True)
class Items:
    """A list of sentences, numbered or not; ``small`` sets it in the size of notes."""

    texts: tuple[str, ...]
    numbered: bool = False
    small: bool = False


@dataclass(frozen=True, slots=True)
class Terms:
    """Words and their meaning, as in a glossary."""

    pairs: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table; ``share`` of the spare width, 0 takes what the text needs.

    With ``page_of_heading`` a cell names a level-1 heading and its page number is printed.
    """

    header: str
    align: Align = "left"
    share: float = 0.0
    page_of_heading: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """A table whose header is repeated on every page; ``summary`` is its alternative text.
    ``roomy`` leaves room in its rows to write by hand."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    summary: str
    small: bool = False
    roomy: bool = False


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing (SVG bytes, true size in mm) with its alternative text and caption."""

    svg: bytes = field(repr=False)
    width_mm: float
    alt: str
    caption: str = ""


@dataclass(frozen=True, slots=True)
class SideBySide:
    """Two runs of blocks beside each other."""

    left: tuple[Block, ...]
    right: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Together:
    """Blocks that stay on one page."""

    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class SignLines:
    """Lines to be filled in by hand, each with its label below."""

    labels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NewPage:
    """The next block starts a page."""


Block = (
    Heading
    | Paragraph
    | Items
    | Terms
    | Table
    | Picture
    | SideBySide
    | Together
    | SignLines
    | NewPage
)
Blocks = Sequence[Block]
