"""Two sets of answers to practice trays, each with the supervisor's key, and what is true.

Tray C is typed as such sheets are: marks for nothing, a block pasted twice, a cell number
typed twice. The key of tray C is wrong in one piece; the truth stands apart.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from lotscreen.simulate.samples.files import csv_bytes, frame_rows
from lotscreen.simulate.trays import TraySet, quiet_week, tray_c
from lotscreen.words import phrase

_SPOIL_SEED = 4
_HEADERS = {"answer": "answer(A/S/R)"}
_NOTHING = ("–", "n/a", "?", "-")
_BLANK_CONF, _BLANK_SEC = 14, 6
_PASTED = ("T05", "C3")
_MISTYPED = ("T09", "C2")


def tray_files() -> dict[str, bytes]:
    """Every file of the two sets by its path within the sample folder."""
    c, quiet = tray_c(), quiet_week()
    return {
        "trays/tray_c.csv": _sheet(_spoiled(c.answers), phrase("tray_marking.samples.title_c")),
        "trays/tray_c_key.csv": csv_bytes(frame_rows(c.key)),
        "keys/tray_c_truth.csv": _truth(c),
        "trays/quiet_week.csv": _sheet(quiet.answers, phrase("tray_marking.samples.title_quiet")),
        "trays/quiet_week_key.csv": csv_bytes(frame_rows(quiet.key)),
        "trays/pass_rule.toml": phrase("tray_marking.samples.pass_rule").encode(),
    }


def _sheet(answers: pd.DataFrame, title: str) -> bytes:
    rows = frame_rows(answers.rename(columns=_HEADERS))
    return csv_bytes([[title], [], *rows])


def _spoiled(answers: pd.DataFrame) -> pd.DataFrame:
    rng = np.random.default_rng(_SPOIL_SEED)
    typed = answers.astype(str)
    typed["sec"] = typed["sec"].str.removesuffix(".0")
    for column, count in (("conf", _BLANK_CONF), ("sec", _BLANK_SEC)):
        rows = rng.choice(len(typed), count, replace=False)
        typed.loc[rows, column] = rng.choice(_NOTHING, count)
    own = (typed["trainee"] == _MISTYPED[0]) & (typed["tray"] == _MISTYPED[1])
    place = _slip(typed, np.flatnonzero(own))
    cells = typed["cell"].to_list()
    cells[place] = cells[place - 1]
    typed["cell"] = cells
    pasted = typed[(typed["trainee"] == _PASTED[0]) & (typed["tray"] == _PASTED[1])]
    last = int(pasted.index[-1])
    return pd.concat([typed[: last + 1], pasted, typed[last + 1 :]], ignore_index=True)


def _slip(typed: pd.DataFrame, rows: np.ndarray) -> int:
    """The first row whose answer is not that of the row before."""
    texts = typed["answer"].to_numpy()
    return int(next(row for row in rows[1:] if texts[row] != texts[row - 1]))


def _truth(c: TraySet) -> bytes:
    """One row a piece: as keyed, and as it is."""
    truth = c.key[["tray", "cell", "piece", "kind", "status"]].copy()
    wrong = truth["piece"] == c.wrong_key
    truth["true_kind"] = truth["kind"].mask(wrong, c.true_kind)
    truth["injected_fault"] = np.where(wrong, phrase("tray_marking.samples.wrong_key"), "")
    return csv_bytes(frame_rows(truth))
