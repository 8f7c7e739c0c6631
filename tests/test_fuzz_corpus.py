"""The inputs that fuzzing found worth keeping: each is read or refused, none is a fault."""

from __future__ import annotations

from pathlib import Path

import pytest
from fuzz.target import read_bytes

CORPUS = sorted((Path(__file__).parent / "fuzz" / "corpus").iterdir())


def test_the_corpus_is_small_and_meets_both_ends() -> None:
    assert 20 <= len(CORPUS) <= 400
    assert sum(path.stat().st_size for path in CORPUS) < 500_000
    assert {read_bytes(path.read_bytes()) for path in CORPUS} == {"read", "refused"}


@pytest.mark.parametrize("path", CORPUS, ids=lambda path: path.name)
def test_an_input_is_read_or_refused(path: Path) -> None:
    assert read_bytes(path.read_bytes()) in ("read", "refused")
