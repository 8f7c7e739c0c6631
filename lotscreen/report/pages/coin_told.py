"""What is told of one coin set aside, in a paragraph beside its drawing."""

from __future__ import annotations

import pandas as pd

from lotscreen.display import TypeDisplay
from lotscreen.report.moves import coin_moves, group_word
from lotscreen.report.numerals import THIN, fixed, percent, rarity
from lotscreen.report.pages.readings import expected, readings
from lotscreen.report.printable import sentence, shortened
from lotscreen.report.view import LotView
from lotscreen.words import phrase, say

_MOST_METALS = 5


def coin_title(view: LotView, coin: pd.Series) -> str:
    """Number, place and finding."""
    return say("report_types.coin.title", coin=shortened(str(coin["coin_id"]), 24),
               place=shortened(view.place(coin), 28), finding=coin["finding"])  # fmt: skip


def coin_told(view: LotView, coin: pd.Series, display: TypeDisplay | None) -> str:
    """Readings, expectation, directions, rarity, reason, ranked explanations with shares,
    density and next test."""
    told = [say("report_types.coin.read", read=readings(view, coin), expected=expected(view, coin))]
    parts = _off(coin, display)
    if parts:
        told.append(say("report_types.coin.off", parts=", ".join(parts)))
    told.append(say("report_types.coin.rare", rare=rarity(coin["p_value"], short=True)))
    told.append(sentence(str(coin["reason"])))
    if coin["explanations"]:
        told.append(say("report_types.coin.explanations", by=coin["explanations"]))
    told += _density(view, coin)
    told += moves_told(view, coin)
    if coin["next_test"]:
        told.append(say("report_types.coin.next", test=str(coin["next_test"]).rstrip(".")))
    return " ".join(told)


def moves_told(view: LotView, coin: pd.Series) -> list[str]:
    """With what the finding moves, where it does."""
    moves = view.screening.sensitivity.moves.get(str(coin["item_id"]), ())
    return [coin_moves(moves, group_word(view.screening))] if moves else []


def _off(coin: pd.Series, display: TypeDisplay | None) -> list[str]:
    """The directions in which the coin departs, with size and normal deviate."""
    parts = []
    if coin["expected_weight_g"] == coin["expected_weight_g"]:
        share = 100 * (coin["weight_g"] / coin["expected_weight_g"] - 1)
        told = {"share": percent(share, 1, signed=True), "z": fixed(coin["z_weight"], 1, True)}
        parts.append(say("report_types.coin.off_weight", **told))
    across = None if display is None else display.reference_diameter_mm
    thick = None if display is None else display.reference_thickness_mm
    for name, reference in (("diameter", across), ("thickness", thick)):
        z = coin[f"z_{name}"]
        if reference is not None and z == z:
            off = fixed(float(coin[f"{name}_mm"]) - reference, 2, signed=True)
            parts.append(say(f"report_types.coin.off_{name}", mm=off, z=fixed(float(z), 1, True)))
    return parts


def _density(view: LotView, coin: pd.Series) -> list[str]:
    told = view.screening.densities.get(str(coin["item_id"]))
    if told is None:
        return []
    metals = ", ".join(told.admits[:_MOST_METALS]) or phrase("report_types.coin.no_metal")
    return [
        say("report_types.coin.density", density=fixed(told.density_g_cm3, 2),
            u=THIN + fixed(told.u_g_cm3, 2), metals=metals)
    ]  # fmt: skip
