"""The words of a PDF file as a reader finds them, page by page."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import pypdfium2

_HYPHEN = "\x02"  # what stands for a hyphen at the end of a line and for its line feed


def page_texts(pdf: Path | bytes) -> list[str]:
    """The text of every page of a file or of its bytes, lines ended by a line feed alone.

    Text alone is taken: what draws the pictures is not read, which makes it quick.
    """
    with closing(pypdfium2.PdfDocument(pdf)) as document:
        texts = []
        for page in document:
            with closing(page), closing(page.get_textpage()) as text:
                lines = str(text.get_text_bounded()).replace("\r\n", "\n")
                texts.append(lines.replace(_HYPHEN, "-\n"))
        return texts


def words_of(pdf: Path | bytes) -> str:
    """The text of all pages, each stretch of white space a single space."""
    return " ".join(" ".join(page_texts(pdf)).split())
