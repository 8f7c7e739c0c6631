"""Two invented sets of practice trays with their keys: tray C and the quiet week."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from lotscreen.records import Floats
from lotscreen.simulate.tray_people import Trainee, answers_of, blind_to, ordinary_trainees
from lotscreen.simulate.tray_pieces import HARD_HONEST, Pieces, draw_pieces, status_word

CELLS = 25
_TRAYS_C = 5
TRAY_C_SEED, QUIET_SEED = 20260111, 20260112
_FALSE_OF_TRAY = (
    "lead alloy, right size",
    "right weight, too thick",
    "right weight, too thick",
    "light and thick",
    "cast, right alloy",
    "brass, right size",
)
_KEY_COLUMNS = (
    "tray", "cell", "piece", "type", "kind", "status", "weight_g", "diameter_mm",
    "thickness_mm", "difficulty", "finding", "told_by",
    "tellable",
)  # fmt: skip
_QUIET_LINE = 0.75
_AFTER_LINE = 0.15
_UNTOLD_AT = (9 * CELLS, 29 * CELLS)


@dataclass(frozen=True, slots=True)
class TraySet:
    """Answers (``trainee, tray, cell, answer, conf, sec``) and key, both as text-like
    frames in the order of a sheet; ``wrong_key`` is the piece keyed wrongly and
    ``true_kind`` what it is ('' none)."""

    answers: pd.DataFrame
    key: pd.DataFrame
    wrong_key: str
    true_kind: str


def tray_c(seed: int = TRAY_C_SEED) -> TraySet:
    """Twelve trainees, five trays of 25 (30 keyed as not the standard, 95 as it): T03 never
    feels thickness, T07 lets little pass, T11 hurries over the last cells; one easy piece is
    keyed the wrong way round."""
    rng = np.random.default_rng(seed)
    kinds = [kind for _ in range(_TRAYS_C) for kind in _tray_kinds(rng)]
    called = _exchanged(kinds, rng)
    pieces = draw_pieces(kinds, rng, "P")
    key = _key(pieces, [f"C{tray}" for tray in range(1, _TRAYS_C + 1)])
    people = ordinary_trainees(12, rng)
    people[2] = blind_to(people[2], "thickness")
    people[6] = replace(people[6], line=0.78)
    people[10] = replace(people[10], hasty_cells=8, hasty_pace=0.45, hasty_noise=1.6)
    answers = _answers(people, pieces, key, rng)
    row, kind = called
    key.loc[row, "kind"] = kind
    key.loc[row, "status"] = status_word(kind)
    return TraySet(answers, key, str(key.loc[row, "piece"]), kinds[row])


def quiet_week(seed: int = QUIET_SEED) -> TraySet:
    """Six trainees: 40 trays with one piece that is not the standard or none, four trays
    with ten such pieces and told answers, eight quiet trays again."""
    rng = np.random.default_rng(seed)
    few = [int(value) for value in rng.permutation([0, 1] * 24)]
    counts = [*few[:40], *[10] * 4, *few[40:]]
    kinds: list[str] = []
    for count in counts:
        own = list(rng.choice(_FALSE_OF_TRAY, count, replace=count > len(_FALSE_OF_TRAY)))
        honest = ["honest"] * (CELLS - count - 2) + list(rng.choice(HARD_HONEST, 2))
        if len(kinds) in _UNTOLD_AT:
            honest[0] = "debased, inside wear"
        kinds += [str(kind) for kind in rng.permutation(own + honest)]
    names = [f"Q{n:02d}" for n in range(1, 41)] + [f"B{n}" for n in range(1, 5)]
    names += [f"Q{n:02d}" for n in range(41, 49)]
    pieces = draw_pieces(kinds, rng, "W")
    key = _key(pieces, names)
    shift = np.repeat([_QUIET_LINE] * 40 + [0.0] * 4 + [_AFTER_LINE] * 8, CELLS)
    answers = _answers(ordinary_trainees(6, rng), pieces, key, rng, shift)
    return TraySet(answers, key, "", "")


def _tray_kinds(rng: np.random.Generator) -> list[str]:
    """Kinds of one tray in the order of its cells."""
    honest = ["honest"] * (CELLS - len(_FALSE_OF_TRAY) - len(HARD_HONEST))
    return [str(k) for k in rng.permutation([*_FALSE_OF_TRAY, *HARD_HONEST, *honest])]


def _exchanged(kinds: list[str], rng: np.random.Generator) -> tuple[int, str]:
    """Put one piece of the other status into a place of ``kinds`` and say what the key will
    call it: a plain honest piece called a cast, or one of lead called honest. The key's
    counts stay what they were."""
    called, real = ("cast, right alloy", "honest")
    if rng.random() < 0.5:
        called, real = ("honest", "lead alloy, right size")
    row = int(rng.choice([n for n, kind in enumerate(kinds) if kind == called]))
    kinds[row] = real
    return row, called


def _key(pieces: Pieces, trays: list[str]) -> pd.DataFrame:
    key = pieces.table.copy()
    key["tray"] = np.repeat(trays, CELLS)
    key["cell"] = np.tile(np.arange(1, CELLS + 1), len(trays))
    return key[list(_KEY_COLUMNS)]


def _answers(
    people: list[Trainee],
    pieces: Pieces,
    key: pd.DataFrame,
    rng: np.random.Generator,
    shift: Floats | float = 0.0,
) -> pd.DataFrame:
    cells = key["cell"].to_numpy(dtype=np.float64)
    parts = []
    for person in people:
        part = answers_of(person, pieces.felt, cells, rng, shift)
        part.insert(0, "trainee", person.code)
        part.insert(1, "tray", key["tray"].to_numpy())
        part.insert(2, "cell", key["cell"].to_numpy())
        parts.append(part)
    return pd.concat(parts, ignore_index=True)
