"""What a tray is for decides how many of its pieces are not honest."""

from __future__ import annotations

from dataclasses import dataclass

CELLS = 25
SIDE = 5


_ONE_SIDED = 0.05


def shown_if_all_found(pieces: int) -> float:
    """The rate of hits that ``pieces`` pieces, all of them found, show at 95 %, one-sided:
    the exact bound of Clopper and Pearson (Biometrika 26, 1934) where nothing was missed."""
    return float(_ONE_SIDED ** (1.0 / pieces))


@dataclass(frozen=True, slots=True)
class Purpose:
    """``not_honest`` is the least and most of a tray's 25 pieces that are not honest;
    ``empty_share`` the chance of a tray with none, ``unscored`` pieces a tray that no
    reading can tell, both unless another is asked for (common practice, no source)."""

    key: str
    not_honest: tuple[int, int]
    empty_share: float
    unscored: int
    feedback: bool
    certifies: bool = False


PURPOSES = {
    one.key: one
    for one in (
        Purpose("learning", (10, 10), 0.0, 1, True),
        Purpose("certifying", (5, 6), 0.0, 0, False, certifies=True),
        Purpose("vigilance", (1, 1), 0.3, 0, True),
    )
}
