"""The one table: what was asked, what was reached, with its interval, in 100 columns."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

WIDTH = 100
_MET, _MISSED, _OPEN = "met", "MISSED", "open"


@dataclass(frozen=True, slots=True)
class Row:
    """One line. ``low`` and ``high`` bound what was asked (None: no bound), ``interval``
    what the figure may be; a row without bounds is for comparison only. ``digits``
    after the point."""

    part: str
    what: str
    reached: float
    interval: tuple[float, float] | None = None
    low: float | None = None
    high: float | None = None
    unit: str = ""
    digits: int = 3

    @property
    def verdict(self) -> str:
        """``met`` when the figure lies within the bounds, ``MISSED`` when its whole
        interval lies outside, ``open`` when the sample is too small to say."""
        if self.low is None and self.high is None:
            return ""
        low = -float("inf") if self.low is None else self.low
        high = float("inf") if self.high is None else self.high
        if low <= self.reached <= high:
            return _MET
        if self.interval is None or self.interval[1] < low or self.interval[0] > high:
            return _MISSED
        return _OPEN

    def line(self) -> str:
        """The row in ``WIDTH`` columns."""
        reached = f"{self.reached:.{self.digits}f}{self.unit}"
        interval = ""
        if self.interval is not None:
            interval = f"{self.interval[0]:.{self.digits}f} to {self.interval[1]:.{self.digits}f}"
        return (
            f"{self.what:<54.54} {self._asked():>12} {reached:>9} {interval:>15} {self.verdict:>6}"
        )

    def _asked(self) -> str:
        if self.low is not None and self.high is not None:
            return f"{self.low:g} to {self.high:g}"
        if self.low is not None:
            return f">= {self.low:g}"
        return f"<= {self.high:g}" if self.high is not None else ""


@dataclass(frozen=True, slots=True)
class Line:
    """A line of words and figures in a part, for comparison only."""

    part: str
    text: str
    verdict: str = ""

    def line(self) -> str:
        """The text, cut to ``WIDTH`` columns."""
        return self.text[:WIDTH]


def printed(rows: Iterable[Row | Line]) -> Iterable[str]:
    """The lines of the table, a heading before each part."""
    part = None
    for row in rows:
        if row.part != part:
            part = row.part
            yield ""
            yield f"{part}"
            if isinstance(row, Row):
                yield f"{'what':<54} {'asked':>12} {'reached':>9} {'interval':>15}"
            yield "-" * WIDTH
        yield row.line()


def summary(rows: Iterable[Row | Line]) -> str:
    """How many targets are met, missed and open."""
    verdicts = [row.verdict for row in rows]
    return ", ".join(f"{verdicts.count(v)} {v.lower()}" for v in (_MET, _MISSED, _OPEN))
