"""A grader's eye: the grade noted of a coin from the depth that its surface has lost.

The eye takes depth for more or less than it is, each coin anew, and a grader is stricter or
milder than others in all of a lot. A coin struck in another metal is graded as any other.
"""

from __future__ import annotations

import numpy as np

from lotscreen.records import Floats, Texts

_GRADES = np.array(["AU", "EF", "VF", "F", "VG", "G", "AG"], dtype=object)
_WORSE_FROM_UM = np.array([4.0, 10.0, 18.0, 28.0, 40.0, 56.0])  # assumed
_GRADER_LOG_SD = 0.15  # assumed


def noted_grades(
    depth_mm: Floats, share: float, eye_log_sd: float, rng: np.random.Generator
) -> Texts:
    """The grade of each coin as noted, '' for those (all but about ``share``) not graded."""
    n = len(depth_mm)
    grader = rng.normal(0.0, _GRADER_LOG_SD)
    seen_um = 1000.0 * depth_mm * np.exp(grader + rng.normal(0.0, eye_log_sd, n))
    noted = _GRADES[np.searchsorted(_WORSE_FROM_UM, seen_um, side="right")]
    noted[rng.random(n) >= share] = ""
    return np.asarray(noted)
