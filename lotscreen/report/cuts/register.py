"""The papers of a version. A new one is one file here, one line below, and its title."""

from __future__ import annotations

from lotscreen.report.cuts import annex, full, insurer, letter, slip
from lotscreen.report.cuts.paper import Cut

CUTS = [
    Cut("report", full.build),
    Cut("slip", slip.build),
    Cut("letter", letter.build),
    Cut("list", insurer.build),
    Cut("annex", annex.build),
]
