"""``tray build --for``: more of what one trainee missed, as far as the interval is sure."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from tray_sets import order, pieces, small_register
from typer.testing import CliRunner

from lotscreen.cli import app
from lotscreen.records import InputError
from lotscreen.report.csv_text import csv_text
from lotscreen.tray.built import BuiltSet
from lotscreen.tray.compose import compose
from lotscreen.tray.missed import Missed, missed_weights
from lotscreen.tray.tables import KEY_DECIMALS, key_frame


@pytest.fixture(scope="module")
def earlier(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Answers and key of five trays: T03 accepts all that thickness alone tells and refuses
    the rest, T04 is right on every other piece of each sort."""
    folder = tmp_path_factory.mktemp("earlier")
    wanted = order("certifying", 5)
    built = BuiltSet(wanted, compose(pieces(), wanted), ("T03", "T04"), pieces(), "r", "0" * 64)
    key = key_frame(built)
    (folder / "KEY.csv").write_text(csv_text(key, KEY_DECIMALS), encoding="utf-8")
    is_other = (key["status"] == "not honest").to_numpy()
    told = is_other & (key["told_by"] != "thickness").to_numpy()
    by_turns = (np.arange(len(key)) % 2 == 0) ^ ~is_other
    answers = [
        pd.DataFrame({"trainee": who, "tray": key["tray"], "cell": key["cell"],
                      "answer": np.where(refused, "refuse", "accept"), "conf": 3, "sec": 9.0})
        for who, refused in (("T03", told), ("T04", by_turns))
    ]  # fmt: skip
    pd.concat(answers).to_csv(folder / "answers.csv", index=False)
    return folder / "answers.csv", folder / "KEY.csv"


def _missed(earlier: tuple[Path, Path], who: str) -> Missed:
    return missed_weights(who, earlier[:1], earlier[1:])


def test_what_is_surely_missed_is_weighted_by_the_interval_and_not_beyond(earlier):
    found = next(one for one in _missed(earlier, "T03").kinds if one.label == "thickness")
    assert found.rate.alarms == found.rate.coins
    assert found.rest.alarms == 0
    assert 2 < found.weight <= 4
    told = [one for one in _missed(earlier, "T03").kinds if one.weight > 1]
    assert {one.label for one in told} <= {
        "thickness", "brass, right weight", "copper, right weight", "nickel silver, right weight"
    }  # fmt: skip
    for one in told:
        others = max(one.rest.alarms / one.rest.coins, 0.05)
        assert one.weight <= one.rate.low / others + 1e-9, "no farther than the interval"


def test_whoever_misses_one_kind_as_often_as_another_gets_trays_as_by_chance(earlier):
    weights = _missed(earlier, "T04").weights
    assert len(weights) <= 1, weights


def test_a_trainee_without_answers_is_named_with_those_who_have_some(earlier):
    with pytest.raises(InputError, match=r"no answer of trainee T99 in answers\.csv.*T03, T04"):
        _missed(earlier, "T99")


def test_trays_for_one_trainee_hold_more_of_what_was_missed(earlier):
    def share(weights: Mapping[str, float]) -> float:
        told = [
            p.told_by == "thickness"
            for seed in range(10)
            for tray in compose(pieces(), order(seed=seed, weights=weights))
            for p in tray.pieces(False)
        ]
        return float(np.mean(told))

    assert share(_missed(earlier, "T03").weights) > 1.3 * share({})


def test_the_command_says_what_it_weights_and_for_whom(earlier, tmp_path: Path):
    answers, key = map(str, earlier)
    small_register().to_csv(tmp_path / "reg.csv", index=False)
    register, history = str(tmp_path / "reg.csv"), str(tmp_path / "h.csv")
    command = ["tray", "build", register, "--for", "t03", "--answers", answers, "--key", key,
               "--out", str(tmp_path / "n"), "--history", history]  # fmt: skip
    result = CliRunner().invoke(app, command)
    assert result.exit_code == 0, result.output
    said = " ".join(result.stdout.split())
    assert "Set A: 2 trays of 25 for learning, for T03." in said
    assert "pieces told by thickness (95 %:" in said
    assert set(pd.read_csv(tmp_path / "h.csv")["trainee"]) == {"T03"}
