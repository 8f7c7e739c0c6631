"""A set of trays as it was built: what was asked, what came out, for whom."""

from __future__ import annotations

import datetime
import hashlib
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files

import pandas as pd

from lotscreen.intake.grid import plain_words
from lotscreen.records import SettingsError
from lotscreen.tray.compose import Order, Tray
from lotscreen.tray.pieces import Piece
from lotscreen.words import say

ANYBODY = "*"
_CODE = re.compile(r"[A-Z]{1,3}-?\d{1,4}")
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_]{0,15}")
SENSES = ("hearing", "sight", "hand")


@dataclass(frozen=True, slots=True)
class BuiltSet:
    """``pieces`` are all of the register; ``adjusted`` are adjustments by trainee;
    ``left_out`` the numbers of pieces that an adjustment takes out of the set;
    ``practised`` sentences about what was weighted for whom; ``keep_until`` the date after
    which codes and answers are destroyed ('' to be filled in by hand). ``register`` is the
    invented register, None where the pieces are real; ``doubts`` counts the cells of a
    register that were read with a doubt and the rows left out of it."""

    order: Order
    trays: tuple[Tray, ...]
    trainees: tuple[str, ...]
    pieces: tuple[Piece, ...]
    source: str
    source_digest: str
    register: pd.DataFrame | None = None
    adjusted: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    left_out: tuple[str, ...] = ()
    practised: tuple[str, ...] = ()
    keep_until: str = ""
    doubts: int = 0

    @property
    def invented(self) -> bool:
        """Whether the pieces exist on paper alone."""
        return self.register is not None

    def digest(self) -> str:
        """Twelve hex digits over the trays cell by cell."""
        told = "\n".join(
            f"{tray.name},{cell.number},{cell.piece.piece}"
            for tray in self.trays
            for cell in tray.cells
        )
        return hashlib.sha256(told.encode()).hexdigest()[:12]


def trainee_codes(text: str) -> tuple[str, ...]:
    """Codes from 'T01,T02'; SettingsError for a name, and for two trainees of one code."""
    codes = tuple(part.strip().upper() for part in text.split(",") if part.strip())
    for code in codes:
        if not _CODE.fullmatch(code):
            raise SettingsError(say("tray_building.codes.not_a_code", value=code))
        if codes.count(code) > 1:
            raise SettingsError(say("tray_building.codes.twice", code=code))
    return codes


def set_name(text: str) -> str:
    """The name of a set, which is part of file names and of its trays' names."""
    if not _NAME.fullmatch(text):
        raise SettingsError(say("tray_building.codes.set_name", value=text))
    return text


def retention_date(text: str) -> str:
    """The date as written, '' where none is given; SettingsError where it is no day."""
    if text:
        try:
            datetime.date.fromisoformat(text)
        except ValueError as error:
            raise SettingsError(say("tray_building.codes.date", value=text)) from error
    return text


def adjustments(words: Sequence[str], trainees: Sequence[str]) -> dict[str, tuple[str, ...]]:
    """By trainee, from 'T05=hearing'; SettingsError where code or adjustment is unknown."""
    found: dict[str, tuple[str, ...]] = {}
    for word in words:
        code, _, sense = (part.strip() for part in word.partition("="))
        if code.upper() not in trainees or sense not in SENSES:
            raise SettingsError(
                say("tray_building.codes.adjust", value=word, known=", ".join(SENSES))
            )
        found[code.upper()] = (*found.get(code.upper(), ()), sense)
    return found


@cache
def _senses() -> Mapping[str, Sequence[str]]:
    text = (files(__package__) / "register.toml").read_text(encoding="utf-8")
    found: Mapping[str, Sequence[str]] = tomllib.loads(text)["tests"]
    return found


def needs_sense(piece: Piece, senses: Sequence[str]) -> bool:
    """Whether the piece is told only by a test that needs one of ``senses``."""
    told = plain_words(piece.told_by)
    return any(told.startswith(word) for sense in senses for word in _senses()[sense])
