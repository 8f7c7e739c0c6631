"""The atomic weight of a reference sample of silver, read 24 times by each of two
instruments.

Powell, L. J., Murphy, T. J. and Gramlich, J. W., NBS Journal of Research 87 (1982), 9-19;
certified analysis of variance: Statistical Reference Datasets of the NIST, set AtmWtAg. The
readings are those that scipy carries among its test data.
"""

from __future__ import annotations

from importlib.resources import files

SS_BETWEEN, DOF_BETWEEN = 3.63834187500000e-09, 1
SS_WITHIN, DOF_WITHIN = 1.04951729166667e-08, 46
F_RATIO = 1.59467335677930e01
RESIDUAL_SD = 1.51048314446410e-05

_FIRST_LINE, _LAST_LINE = 60, 108


def readings() -> list[tuple[str, float]]:
    """Instrument and reading, in the order of the set."""
    path = files("scipy.stats.tests") / "data" / "nist_anova" / "AtmWtAg.dat"
    lines = path.read_text(encoding="ascii").splitlines()[_FIRST_LINE:_LAST_LINE]
    pairs = (line.split() for line in lines)
    return [(instrument, float(value)) for instrument, value in pairs]
