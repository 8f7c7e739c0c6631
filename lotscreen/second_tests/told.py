"""Second tests in words: what each said of a coin, and what is left of its explanations."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lotscreen.records import Floats
from lotscreen.second_tests.explained import likeliest_other_type, shares_by_mechanism
from lotscreen.second_tests.hypotheses import OTHER_TYPE, Hypothesis
from lotscreen.second_tests.results import RE_WEIGH
from lotscreen.second_tests.update import CoinWithTests, RunSaid
from lotscreen.words import phrase, say

_MOST_SHOWN = 4
_LEAST_SHOWN = 0.01
_MOST_METALS = 3
_SPEAKS = 0.1
_MOST_ODDS = 6.0


def coin_sentences(coin: CoinWithTests) -> tuple[str, ...]:
    """What was tested, what fits, and the explanations before and after."""
    said = [sentence for test in coin.said for sentence in run_sentences(test)]
    if not coin.fits_together and all(run.fits for run in coin.said):
        said.append(phrase("second_tests.says.fits_none_together"))
    return (
        *said,
        say("second_tests.says.before", shares=shares_in_words(coin.hypotheses, coin.before)),
        say("second_tests.says.after", shares=shares_in_words(coin.hypotheses, coin.after)),
        say("second_tests.says.metals_after", shares=metals_in_words(coin.hypotheses, coin.after)),
    )


def run_sentences(test: RunSaid) -> tuple[str, ...]:
    """What one test with one instrument said."""
    name = phrase(f"second_tests.test.{test.test}")
    by = say("second_tests.says.instrument", name=test.instrument) if test.instrument else ""
    text = say("second_tests.says.one", test=name, instrument=by, shown=_shown(test))
    if test.repeats > 1:
        text += say("second_tests.says.repeats", n=test.repeats)
    if test.test == RE_WEIGH:
        text += say("second_tests.says.re_weigh")
    else:
        text += _admits(test) + _speaks(test.log10_lr)
    if test.fits:
        return (text + ".",)
    if test.test == RE_WEIGH:
        return (text + ".", say("second_tests.says.re_weigh_fits_none"))
    return (text + ".", say("second_tests.says.fits_none", test=name))


def _speaks(log10_lr: float) -> str:
    """For which side a test speaks, and how strongly, as odds."""
    if log10_lr != log10_lr:
        return say("second_tests.says.settled")
    if abs(log10_lr) < _SPEAKS:
        return say("second_tests.says.neither")
    odds = f"{10 ** min(abs(log10_lr), _MOST_ODDS):.2g}"
    odds = f"{float(odds):,.0f}" if abs(log10_lr) >= 1 else f"{float(odds):g}"
    side = "departing" if log10_lr > 0 else "honest"
    return say(f"second_tests.says.{side}", odds=odds)


def _admits(test: RunSaid) -> str:
    if test.word:
        return ""
    if not test.admits:
        return say("second_tests.says.admits_none")
    return say("second_tests.says.admits", metals=", ".join(test.admits[:_MOST_METALS]))


def _shown(test: RunSaid) -> str:
    if test.word:
        return "/".join(phrase(f"second_tests.answer.{word}") for word in test.word.split("/"))
    return say(f"second_tests.shown.{test.test}", value=test.shown, sd=test.shown_sd)


def shares_in_words(hypotheses: tuple[Hypothesis, ...], shares: Floats) -> str:
    """Explanations with their shares, likeliest first."""
    by_mechanism = shares_by_mechanism(hypotheses, shares)
    other = likeliest_other_type(hypotheses, shares)
    parts = []
    for key, share in list(by_mechanism.items())[:_MOST_SHOWN]:
        if share < _LEAST_SHOWN:
            break
        name = phrase(f"findings.explanation.{key}")
        if key == OTHER_TYPE:
            name = say("second_tests.says.other_type", name=name, type=other)
        parts.append(say("second_tests.says.one_share", name=name, share=100 * share))
    return "; ".join(parts)


def metals_in_words(hypotheses: tuple[Hypothesis, ...], shares: Floats) -> str:
    """Metals with their shares, likeliest first."""
    by_metal: dict[str, float] = {}
    for hypothesis, share in zip(hypotheses, shares, strict=True):
        name = hypothesis.metal.name
        by_metal[name] = by_metal.get(name, 0.0) + float(share)
    return _listed(sorted(by_metal.items(), key=lambda pair: (-round(pair[1], 9), pair[0])))


def _listed(pairs: Sequence[tuple[str, float]]) -> str:
    shown = [pair for pair in pairs[:_MOST_SHOWN] if pair[1] >= _LEAST_SHOWN]
    return "; ".join(
        say("second_tests.says.one_share", name=n, share=100 * float(np.round(s, 6)))
        for n, s in shown
    )
