"""What a coin of the fit itself said of its level of wear, taken out again."""

from __future__ import annotations

import numpy as np

from lotscreen.records import Floats
from lotscreen.wear import false_part
from lotscreen.wear.type_fit import TypeFit


def said_by_cell(
    fit: TypeFit, low_g: Floats, high_g: Floats, given_wear: Floats, by_level: Floats
) -> Floats:
    """How likely each cell low..high (n,) is at each level against the likeliest, n x
    levels, departing part included; ``given_wear`` is its probability at each wear (n x wear
    grid), ``by_level`` the shape's matrix."""
    strips = false_part.strip_probabilities(low_g, high_g, fit.coin_type.weight_g)
    mixed = (1 - fit.false_share) * (given_wear @ by_level)
    mixed += fit.false_share * (strips @ fit.strips)[:, None]
    # With next to nothing at every level the coin said nothing about the level.
    relative = mixed / np.maximum(mixed.max(axis=1, keepdims=True), 1e-300)
    return np.asarray(np.maximum(relative, 1e-9))


def without_own(level: Floats, said: Floats) -> Floats:
    """Levels of n coins (n x levels) without what each coin ``said`` itself."""
    level = level / said
    return np.asarray(level / level.sum(axis=1, keepdims=True))
