"""Whatever somebody writes into a record or a sheet of records: it comes back as it was, or
is refused in words."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lotscreen.ledger.chain import Draft, breaks_in, linked
from lotscreen.ledger.check import check_ledger
from lotscreen.ledger.jsonl import chain_lines, copy_of, entry_line, restore
from lotscreen.ledger.kinds import KINDS
from lotscreen.ledger.sheet import header_names, records_of_sheet
from lotscreen.ledger.store import Ledger, open_ledger
from lotscreen.records import InputError

PLAIN = st.text(st.characters(codec="utf-8"), max_size=40)
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | PLAIN
    | st.floats(allow_nan=False, allow_infinity=False),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(PLAIN, inner, max_size=3),
    max_leaves=6,
)  # fmt: skip
BODIES = st.dictionaries(PLAIN, VALUES, max_size=5)


@pytest.fixture(scope="module")
def ledger(tmp_path_factory: pytest.TempPathFactory) -> Ledger:
    return open_ledger(str(tmp_path_factory.mktemp("any") / "what?is#this.ledger"), create=True)


@settings(max_examples=60)
@given(bodies=st.lists(BODIES, min_size=1, max_size=4))
def test_any_content_comes_back_and_holds(ledger: Ledger, bodies: list[dict[str, Any]]) -> None:
    written = ledger.append("K 01/ä", [Draft("note", "2026-11-06", "D07", b) for b in bodies])
    read = ledger.entries("K 01/ä")[-len(bodies) :]
    assert read == written
    assert [entry.said() for entry in read] == bodies
    assert check_ledger(ledger, read[-1].digest).holds


@settings(max_examples=60)
@given(bodies=st.lists(BODIES, min_size=1, max_size=4))
def test_any_content_survives_its_lines(bodies: list[dict[str, Any]]) -> None:
    drafts = [Draft("note", "2026-11-06", "D07", body) for body in bodies]
    chain = tuple(linked("K-01", 0, "0" * 64, drafts))
    assert not list(breaks_in("K-01", chain))
    assert copy_of(chain_lines(chain), "copy").chains == {"K-01": chain}
    assert all(entry_line(entry).count("\n") == 1 for entry in chain)


def test_a_long_copy_is_restored_entry_by_entry(tmp_path: Path) -> None:
    drafts = [Draft("note", "2026-11-06", "D07", {"n": n}) for n in range(12_000)]
    chain = tuple(linked("K-01", 0, "0" * 64, drafts))
    other = open_ledger(str(tmp_path / "other.ledger"), create=True)
    assert restore(other, copy_of(chain_lines(chain), "copy")) == len(chain)
    assert other.entries("K-01") == chain


HEADERS = st.sampled_from(sorted(header_names())) | PLAIN
CELLS = (
    st.sampled_from(["", "K-01", "D07", "2026-11-06", "12,5", "do.", "weight", "hold", "n/a", "3"])
    | PLAIN
)


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    kind=st.sampled_from(sorted(KINDS)),
    header=st.lists(HEADERS, min_size=1, max_size=8),
    rows=st.lists(st.lists(CELLS, max_size=9), max_size=5),
)
def test_any_sheet_is_read_or_refused_in_words(
    tmp_path: Path, kind: str, header: list[str], rows: list[list[str]]
) -> None:
    held = io.StringIO(newline="")
    csv.writer(held).writerows([header, *rows])
    path = tmp_path / "week.csv"
    path.write_text(held.getvalue(), encoding="utf-8")
    given_ = {"lot": "K-01", "by": "D07", "at": "2026-11-06"}
    try:
        found = records_of_sheet(path, kind, given_).records
    except InputError:
        return
    assert all(one.draft.body for one in found)
