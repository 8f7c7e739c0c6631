"""Invented trainees: how each weighs what the senses tell, answers, and takes time.

The strongest cue speaks, the next one a little; a trainee's own line parts accept from
set aside and refuse. Spread between trainees is assumed. The marking knows none of this.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from lotscreen.records import Floats
from lotscreen.simulate.tray_pieces import SENSES

_SECOND_CUE = 0.4
_NOISE_SCALE = 0.5
_ASIDE_WIDTH = 0.7
_CONFIDENCE_STEP = 0.55
_USUAL_SECONDS = 22.0


@dataclass(frozen=True, slots=True)
class Trainee:
    """One invented trainee. ``sharpness`` multiplies each sense, ``line`` is the evidence
    from which a coin is no longer accepted; the last ``hasty_cells`` of a tray take
    ``hasty_pace`` of the usual time, with ``hasty_noise`` times the usual noise."""

    code: str
    sharpness: tuple[float, ...]
    line: float
    pace: float = 1.0
    hasty_cells: int = 0
    hasty_pace: float = 1.0
    hasty_noise: float = 1.0


def ordinary_trainees(count: int, rng: np.random.Generator) -> list[Trainee]:
    """Trainees T01, T02 ...: like each other, not the same."""
    people = []
    for number in range(1, count + 1):
        able = rng.lognormal(0.0, 0.08)
        sharp = tuple(float(able * s) for s in rng.lognormal(0.0, 0.06, len(SENSES)))
        line, pace = float(rng.normal(1.85, 0.13)), float(rng.lognormal(0.0, 0.2))
        people.append(Trainee(f"T{number:02d}", sharp, line, pace))
    return people


def blind_to(person: Trainee, sense: str) -> Trainee:
    """The same trainee who never uses one sense."""
    sharp = [0.0 if s == sense else v for s, v in zip(SENSES, person.sharpness, strict=True)]
    return replace(person, sharpness=tuple(sharp))


def answers_of(
    person: Trainee,
    felt: Floats,
    cells: Floats,
    rng: np.random.Generator,
    shift: Floats | float = 0.0,
) -> pd.DataFrame:
    """``answer``, ``conf`` and ``sec`` of one trainee for pieces in ``cells`` (1 to 25);
    ``shift`` moves the trainee's line (few false pieces lately: upwards)."""
    hasty = cells > 25 - person.hasty_cells
    cues = np.sort(felt * np.array(person.sharpness), axis=1)
    noise = rng.logistic(0.0, _NOISE_SCALE, len(felt))
    noise = noise * np.where(hasty, person.hasty_noise, 1.0)
    evidence = cues[:, -1] + _SECOND_CUE * np.maximum(cues[:, -2], 0.0) + noise
    line = person.line + shift
    answer = np.select([evidence < line, evidence < line + _ASIDE_WIDTH], ["A", "S"], "R")
    away = np.abs(evidence - line - _ASIDE_WIDTH / 2) - _ASIDE_WIDTH / 2
    steps = away / _CONFIDENCE_STEP + rng.normal(0.0, 0.5, len(felt)) + 2.0
    confidence = np.clip(np.round(steps), 1, 5).astype(int)
    seconds = _USUAL_SECONDS * person.pace * rng.lognormal(0.0, 0.35, len(felt))
    seconds = seconds * np.exp(-0.12 * np.maximum(away, -0.5))
    seconds = seconds * np.where(hasty, person.hasty_pace, 1.0)
    return pd.DataFrame({"answer": answer, "conf": confidence, "sec": np.round(seconds, 0)})
