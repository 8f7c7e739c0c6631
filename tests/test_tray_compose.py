"""Trays are seeded, balanced, of equal difficulty, and hold no piece that was seen before."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binom
from tray_sets import order, pieces

from lotscreen.records import InputError, OutputError, SettingsError
from lotscreen.tray.built import BuiltSet, adjustments, needs_sense, trainee_codes
from lotscreen.tray.compose import Tray, compose
from lotscreen.tray.history import Seen, load_history, save_history, seen_before
from lotscreen.tray.pieces import hard_from
from lotscreen.tray.purpose import shown_if_all_found


def _numbers(trays: tuple[Tray, ...]) -> list[str]:
    return [cell.piece.piece for tray in trays for cell in tray.cells]


@pytest.mark.slow
@pytest.mark.parametrize(
    ("purpose", "least", "most"), [("learning", 10, 10), ("certifying", 5, 6), ("vigilance", 0, 1)]
)
def test_prevalence_is_that_of_the_purpose(purpose: str, least: int, most: int):
    for seed in range(6):
        for tray in compose(pieces(), order(purpose, 3, seed)):
            assert [cell.number for cell in tray.cells] == list(range(1, 26))
            scored = [p for p in tray.pieces(False) if p.tellable]
            assert least <= len(scored) <= most
            unscored = [p for p in tray.pieces(False) if not p.tellable]
            assert len(unscored) == order(purpose).unscored


def test_the_same_seed_gives_the_same_trays_and_another_others():
    once, again, other = (compose(pieces(), order(seed=seed)) for seed in (5, 5, 6))
    assert once == again
    assert set(_numbers(once)) != set(_numbers(other))


def test_no_piece_comes_twice_in_a_set_nor_after_it_was_seen():
    seen: set[str] = set()
    for seed in range(4):
        numbers = _numbers(compose(pieces(), order("certifying", 3, seed, seen=frozenset(seen))))
        assert len(set(numbers)) == 75
        assert not seen & set(numbers)
        seen |= set(numbers)


@pytest.mark.parametrize("purpose", ["learning", "certifying"])
def test_as_many_hard_honest_pieces_as_hard_others(purpose: str):
    hard = {honest: hard_from(pieces(), honest) for honest in (False, True)}
    for tray in compose(pieces(), order(purpose, 5)):
        count = {
            honest: sum(p.difficulty >= hard[honest] and p.tellable for p in tray.pieces(honest))
            for honest in (False, True)
        }
        assert count[True] == count[False] > 0


def test_a_tray_without_such_pieces_is_not_told_by_its_ease():
    hard = hard_from(pieces(), True)
    for tray in compose(pieces(), order("certifying", 3, empty_share=1.0)):
        assert not tray.pieces(False)
        assert sum(p.difficulty >= hard for p in tray.pieces(True)) == 1


def test_a_vigilance_set_is_balanced_as_a_whole():
    """One tray holds one such piece or none, so a third of them are hard in the whole set,
    and as many of the honest ones."""
    hard = {honest: hard_from(pieces(), honest) for honest in (False, True)}
    trays = compose(pieces(), order("vigilance", 12))
    count = {
        honest: [sum(p.difficulty >= hard[honest] for p in t.pieces(honest)) for t in trays]
        for honest in (False, True)
    }
    filled = sum(bool(tray.pieces(False)) for tray in trays)
    assert 0 < filled < 12
    assert sum(count[False]) == sum(count[True]) == round(filled / 3)
    assert max(count[True]) == 1


def test_a_set_that_asks_too_much_says_what_is_lacking():
    with pytest.raises(InputError, match=r"set A needs 90 pieces that are hard.*\d+ are left"):
        compose(pieces(), order("learning", 30))


@pytest.mark.slow
def test_a_weighted_kind_comes_oftener():
    def share(weight: float) -> float:
        weights = {"cast": weight}
        own = [
            p
            for seed in range(25)
            for tray in compose(pieces(), order(seed=seed, weights=weights))
            for p in tray.pieces(False)
        ]
        return float(np.mean([p.kind == "cast" for p in own]))

    plain = share(1.0)
    assert share(3.0) > 1.5 * plain
    assert share(1 / 3) < 0.7 * plain


def test_cells_tell_nothing_of_what_lies_in_them():
    """Pieces that are not honest lie anywhere: the sum of their cells is as by chance."""
    sums = [
        np.mean([c.number for c in tray.cells if not c.piece.honest])
        for seed in range(50)
        for tray in compose(pieces(), order(seed=seed))
    ]
    error = np.std(sums, ddof=1) / np.sqrt(len(sums))
    assert abs(np.mean(sums) - 13) < 3 * error


def _built(seed: int = 1, trainees: tuple[str, ...] = ("T01",), name: str = "A") -> BuiltSet:
    wanted = replace(order(seed=seed), name=name)
    return BuiltSet(wanted, compose(pieces(), wanted), trainees, pieces(), "register.csv", "0" * 64)


def test_history_grows_and_never_forgets(tmp_path):
    path = tmp_path / "seen.csv"
    save_history(path, (), _built())
    first = path.read_text()
    save_history(path, load_history(path), _built(2, ("T02",), "B"))
    assert path.read_text().startswith(first)
    assert len(load_history(path)) == 100
    assert not [p for p in tmp_path.iterdir() if p != path]


def test_who_has_seen_what():
    history = (
        Seen("A", "A-1", "T01", "P-1"), Seen("A", "A-1", "T02", "P-2"),
        Seen("B", "B-1", "*", "P-3"), Seen("C", "C-1", "T01", "P-4"),
    )  # fmt: skip
    assert seen_before(history, "D", ("T01",)) == {"P-1", "P-3", "P-4"}
    assert seen_before(history, "D", ("T02",)) == {"P-2", "P-3"}
    assert seen_before(history, "D", ()) == {"P-1", "P-2", "P-3", "P-4"}
    assert seen_before(history, "C", ("T01",)) == {"P-1", "P-3"}, "a set built again"


def test_a_history_that_grew_meanwhile_is_not_written_over(tmp_path):
    path = tmp_path / "seen.csv"
    save_history(path, (), _built())
    with pytest.raises(OutputError, match=r"seen\.csv has grown"):
        save_history(path, (), _built(2, name="B"))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("set,tray,trainee,piece\nA,A-1,T01\n", "row 2: 'A,A-1,T01': four filled fields"),
        ("who,what\n", "row 1: 'who, what'"),
    ],
)
def test_a_broken_history_is_named_with_its_line(tmp_path, text: str, told: str):
    path = tmp_path / "seen.csv"
    path.write_text(text)
    with pytest.raises(InputError, match=told):
        load_history(path)


@pytest.mark.parametrize(("pieces_found", "shown"), [(6, 61), (10, 74), (29, 90), (59, 95)])
def test_what_a_tray_can_show_at_best(pieces_found: int, shown: int):
    """From r successes in r trials: p = 0.05^(1/r) (exact binomial)."""
    found = shown_if_all_found(pieces_found)
    assert round(100 * found) == shown
    assert binom.sf(pieces_found - 1, pieces_found, found) == pytest.approx(0.05)


def test_people_are_codes():
    assert trainee_codes("t01, T02") == ("T01", "T02")
    with pytest.raises(SettingsError, match="'ANNA' is no code"):
        trainee_codes("Anna")
    with pytest.raises(SettingsError, match="T01 is given to two trainees"):
        trainee_codes("T01,T02,t01")


def test_an_adjustment_takes_out_what_only_that_test_tells():
    assert adjustments(["t05=sight"], ("T05",)) == {"T05": ("sight",)}
    with pytest.raises(SettingsError, match="T06=sight"):
        adjustments(["T06=sight"], ("T05",))
    by_eye = [p for p in pieces() if needs_sense(p, ("sight",))]
    assert by_eye
    assert {p.told_by for p in by_eye} == {"eye: bent"}
    assert not any(needs_sense(p, ("hearing",)) for p in pieces())
