"""The chain over neighbouring rows: how likely each stands in a block of a fault.

Forward and backward sums of a hidden Markov model (Rabiner, Proceedings of the IEEE 77, 1989)
whose first state is 'no block'; from one fault a block does not change into another.
"""

from __future__ import annotations

import numpy as np
from scipy.special import logsumexp

from lotscreen.records import Floats

GOES_ON = 0.9
"""Chance that the row behind one of a block belongs to it: ten rows on the average."""


def chances(log_density: Floats, log_next: Floats, begins: float) -> Floats:
    """Probability of each state at each row, n x states.

    ``log_density`` (n x states): natural log density of a row's readings under each state
    that begins there. ``log_next`` (n,): the same under the last state where the row before
    was in it too. ``begins``: chance that a block begins at a row, whatever its fault.
    """
    n, states = log_density.shape
    steps = np.full((states, states), -np.inf)
    steps[0, 0], steps[0, 1:] = np.log1p(-begins), np.log(begins / (states - 1))
    steps[1:, 0] = np.log(1 - GOES_ON)
    np.fill_diagonal(steps[1:, 1:], np.log(GOES_ON))
    forward = np.empty((n, states))
    forward[0] = steps[0] + log_density[0]
    into = [steps + row[None, :] for row in log_density]
    for k in range(1, n):
        into[k][-1, -1] = steps[-1, -1] + log_next[k]
        forward[k] = logsumexp(forward[k - 1][:, None] + into[k], axis=0)
    backward = np.empty((n, states))
    backward[-1] = steps[:, 0]
    for k in range(n - 2, -1, -1):
        backward[k] = logsumexp(into[k + 1] + backward[k + 1][None, :], axis=1)
    both = forward + backward
    return np.asarray(np.exp(both - logsumexp(both, axis=1, keepdims=True)))
