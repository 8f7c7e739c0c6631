"""What a user may say about a sheet before it is read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class ReadOptions:
    """Answers given beforehand; none of them touches the sheet.

    ``mapping`` is a parsed ``--map`` file. ``default_type`` is the type of rows that name
    none. ``type_rows`` are pairs (rows, type) such as ``("12-20", "us-half-1853")`` that
    overrule the type of those sheet rows. ``lot`` keeps one lot only (or names the lot of
    a sheet without lots). ``weight_unit`` is the unit of weights written as "gr" or
    without unit.
    """

    mapping: Mapping[str, Any] | None = None
    default_type: str = ""
    type_rows: tuple[tuple[str, str], ...] = ()
    lot: str | None = None
    weight_unit: str | None = None
