"""The marks for a screen of 80 columns."""

from __future__ import annotations

import textwrap

from lotscreen.report.screen_lines import WIDTH
from lotscreen.report.tray.mark_files import Written
from lotscreen.tray.marking.marked import Marked
from lotscreen.tray.marking.summary import doubt_lines, left_out_lines, summary_sections
from lotscreen.words import say


def mark_text(marked: Marked, most_left_out: int | None, written: Written | None) -> str:
    """Headings and sentences, rows left out (at most ``most_left_out``, None: all) and where
    the reports are."""
    sections = summary_sections(marked)
    if marked.left_out:
        head = say("tray_marking.text.left_out", n=len(marked.left_out))
        sections.append((head, left_out_lines(marked, most_left_out)))
    if marked.doubts:
        head = say("tray_marking.text.doubts", n=len(marked.doubts))
        sections.append((head, doubt_lines(marked, most_left_out)))
    lines: list[str] = []
    for heading, sentences in sections:
        lines += [*([""] if lines else []), heading]
        for sentence in sentences:
            lines += indented(sentence)
    if written is not None:
        key = "folder_again" if written.already_there else "folder"
        lines += ["", say(f"tray_marking.text.{key}", folder=written.folder)]
    return "\n".join(lines) + "\n"


def indented(text: str) -> list[str]:
    """``text`` under its heading in lines of at most ``WIDTH`` columns."""
    return textwrap.wrap(
        text, WIDTH, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False
    )
