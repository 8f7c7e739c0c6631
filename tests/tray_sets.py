"""An invented register of training pieces, judged once for all tests of trays."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pandas as pd

from lotscreen.settings import Settings
from lotscreen.simulate.register import invented_register
from lotscreen.standards import load_standards
from lotscreen.tray.compose import Order
from lotscreen.tray.judged import judged_pieces
from lotscreen.tray.pieces import Piece
from lotscreen.tray.purpose import PURPOSES
from lotscreen.tray.register import read_register

REGISTER = Path(__file__).parent.parent / "sample_lots" / "trays" / "register.csv"


@cache
def pieces() -> tuple[Piece, ...]:
    """Some 690 invented pieces with their measured difficulty."""
    return judged_pieces(read_register(REGISTER), load_standards(), Settings())


def small_register() -> pd.DataFrame:
    """Some 230 invented pieces as text cells."""
    return invented_register(load_standards(), seed=3, pieces=240)


def order(purpose: str = "learning", trays: int = 2, seed: int = 1, **others: object) -> Order:
    """An order with what goes with its purpose."""
    kind = PURPOSES[purpose]
    given = {"empty_share": kind.empty_share, "unscored": kind.unscored, **others}
    return Order("A", kind, trays, seed, **given)  # type: ignore[arg-type]


def write_register(folder: Path) -> None:
    """The small register, with its permissions, as ``reg.csv`` in ``folder``."""
    sheet = small_register()
    wanting = (sheet["status"] == "not honest").to_numpy()
    sheet.loc[wanting, "permission"] = "NB-17/2026 (invented)"
    sheet.to_csv(folder / "reg.csv", index=False)
