"""A training piece as the register tells it and as the instrument measures it."""

from __future__ import annotations

from dataclasses import dataclass

HARDEST = 10.0
HARD_SHARE_NOT_HONEST = 1 / 3
HARD_SHARE_HONEST = 1 / 5


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece. ``honest`` is what the register says and nobody else decides.

    ``difficulty`` runs from 0 to 10: ten less the powers of ten of evidence that the
    readings give for the truth, so that even odds or worse are 10 and ten powers or more
    are 0. It has one scale for honest pieces and others. ``told_by`` says which reading, or
    which other test named in the register, tells the piece; ``tellable`` is False where
    none does. ``explanations`` are the departures that the engine names,
    likeliest first. ``usable`` is '' or the reason why the piece stays out of trays.
    ``expected_*`` are what an honest piece of its type and date would weigh (95 %),
    ``standard_*`` weight and diameter as new, ``mates_mm`` the middle thickness of the
    honest pieces of the type. A number is NaN where there is none.
    """

    piece: str
    type_text: str
    date_text: str
    kind: str
    honest: bool
    permission: str
    box: str
    weight_g: float
    diameter_mm: float
    thickness_mm: float
    difficulty: float
    told_by: str
    tellable: bool
    finding: str
    reason: str
    explanations: str
    expected_low_g: float
    expected_high_g: float
    standard_g: float
    standard_mm: float
    mates_mm: float
    usable: str = ""


def hard_from(pieces: tuple[Piece, ...], honest: bool) -> float:
    """The difficulty from which a piece of that status is called hard in this register.

    The hardest third of the pieces that are not honest, the hardest fifth of the honest
    ones (both assumed); NaN where there is none.
    """
    share = HARD_SHARE_HONEST if honest else HARD_SHARE_NOT_HONEST
    ranked = sorted(
        (p.difficulty for p in pieces if p.honest == honest and p.tellable and not p.usable),
        reverse=True,
    )
    return ranked[max(round(share * len(ranked)) - 1, 0)] if ranked else float("nan")
