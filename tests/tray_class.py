"""Answers of an invented class from the sample's generator, as the marking takes them."""

from __future__ import annotations

import pandas as pd

from lotscreen.simulate.trays import TraySet
from lotscreen.tray.answer_key import Key
from lotscreen.tray.answers import Answers

NOT_IN_SHEET = {"session": "", "piece": "", "place": "", "row": 0}


def as_read(drawn: TraySet) -> tuple[Answers, Key]:
    """Answers and key of a drawn set without the way over a file."""
    rows = drawn.answers.rename(columns={"sec": "seconds"}).assign(**NOT_IN_SHEET)
    cells = drawn.key.copy()
    cells["standard"] = cells.pop("status") == "honest"
    cells["tellable"] = cells["tellable"] == "yes"
    for name in ("weight_g", "diameter_mm", "thickness_mm", "difficulty"):
        cells[name] = cells[name].astype(float)
    return Answers(rows, (), (), (), len(rows)), Key(pd.DataFrame(cells), ())
