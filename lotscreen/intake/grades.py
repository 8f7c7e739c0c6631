"""How worn a coin is by eye: the words and letters of a grade column, in one scale.

A number behind the letters (VF-20) and a half grade (VF+) are read past; of two grades
(F-VF) the more worn counts. What is not understood is no grade and no fault.
"""

from __future__ import annotations

import re
from functools import cache

from lotscreen.intake.grid import Column, constant_column, plain_words
from lotscreen.intake.layout import Layout
from lotscreen.intake.vocabulary import grade_words, is_missing, without_accents
from lotscreen.quantities import GRADES
from lotscreen.records import Bools
from lotscreen.words import say

_MOST_NAMED = 4
_NEAR = re.compile(
    r"(?:about|almost|nearly|near|abt|good|choice|gem|fast|knapp|gutes?|presque|casi) (?=\w)"
)
_NEAR_LETTER = re.compile(r"[ang](?=(?:f|vf|ef|xf|unc)$)")
_NUMBER = re.compile(r"[\s-]*\d{1,2}$")


def grades_of(layout: Layout, coins: Bools) -> tuple[Column, tuple[str, ...]]:
    """The grade of each row as one of :data:`lotscreen.quantities.GRADES` ('' where none), and
    a sentence where cells of ``coins`` are not understood."""
    column = layout.single.get("grade")
    if column is None:
        return constant_column("", "", len(coins)), ()
    if column.all_numbers:
        column = Column(column.header, tuple(column.levels), column.levels, column.codes)
    grade = column.changed(grade_of)
    said = _remark(column, grade, coins)
    return grade, (said,) if said else ()


@cache
def grade_of(text: str) -> str:
    """The grade that a cell says, '' where it says none that is understood."""
    if is_missing(text):
        return ""
    plain = without_accents(plain_words(text)).strip(" .")
    whole = _single(plain)
    if whole:
        return whole
    parts = [_single(part) for part in re.split(r"\s*(?:/|-|\bto\b|\bbis\b|\ba\b)\s*", plain)]
    if len(parts) != 2 or not all(parts):
        return ""
    return max(parts, key=GRADES.index)


def _single(plain: str) -> str:
    """One grade, without number, sign of a half grade or a word like "about"."""
    words = grade_words()
    bare = _NUMBER.sub("", plain).rstrip(" +-")
    bare = re.sub(r"[.\s]+", " ", bare).strip()
    for tried in (bare, bare.replace(" ", ""), _NEAR.sub("", bare), _NEAR_LETTER.sub("", bare)):
        if tried in words:
            return words[tried]
    return ""


def _remark(column: Column, grade: Column, items: Bools) -> str:
    """The sentence on cells of a grade column that were not understood, '' where none."""
    odd = items & ~grade.filled() & ~column.where(is_missing)
    if not odd.any():
        return ""
    texts = list(dict.fromkeys(str(text).strip() for text in column.texts[odd]))
    named = ", ".join(f'"{text}"' for text in texts[:_MOST_NAMED])
    more = say("intake.remark.grade_more", n=len(texts) - _MOST_NAMED)
    named += more if len(texts) > _MOST_NAMED else ""
    return say("intake.remark.grade", column=column.header, cells=int(odd.sum()), named=named)
