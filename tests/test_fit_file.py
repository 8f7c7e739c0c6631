"""A frozen fit saved and loaded judges as before; a wrong file is named."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from published import Weighing, screened

from lotscreen.evidence import judge
from lotscreen.fit_file import load_fit, save_fit
from lotscreen.records import InputError, OutputError
from lotscreen.settings import Settings
from lotscreen.standards import load_standards
from lotscreen.wear.components import components
from lotscreen.wear.saved import SCHEMA


@pytest.fixture(scope="module")
def lot():  # type: ignore[no-untyped-def]
    weights = 12.5 - 0.0125 * np.arange(40) / 2
    coins = [Weighing("US half dollar", 1900 + n, round(float(w), 2), 0.01)
             for n, w in enumerate(weights)]  # fmt: skip
    return screened([*coins, Weighing("US half dollar", None, 11.9, 0.01)])


def test_saved_and_loaded_fit_judges_alike(lot, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    table, fitted, findings = lot
    save_fit(fitted, tmp_path / "halves.fit.json")
    again = judge(table, load_fit(tmp_path / "halves.fit.json"), Settings())
    np.testing.assert_array_equal(again.p_value, findings.p_value)
    np.testing.assert_array_equal(again.shares, findings.shares)
    assert list(again.reason) == list(findings.reason)
    with pytest.raises(OutputError, match=r"halves\.fit\.json"):
        save_fit(fitted, tmp_path / "halves.fit.json")


def test_wrong_files_are_named(lot, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    _, fitted, _ = lot
    path = tmp_path / "a.json"
    save_fit(fitted, path)
    saved = json.loads(path.read_text())
    path.write_text(json.dumps({**saved, "schema": "0.9"}))
    with pytest.raises(InputError, match=r"0\.9"):
        load_fit(path)
    path.write_text("no json")
    with pytest.raises(InputError, match=r"a\.json"):
        load_fit(path)
    with pytest.raises(OutputError, match="folder"):
        save_fit(fitted, tmp_path / "none" / "b.json")


def test_a_schema_belongs_to_one_set_of_departures() -> None:
    """The shares of a saved fit are by place: other components need another schema."""
    standards = load_standards()
    kinds = {
        key: tuple(len(components(standards.get(key), alone)) for alone in (False, True))
        for key in ("us-half-1873", "uk-sovereign-1817", "uk-penny-copper-1825")
    }
    assert (SCHEMA, kinds) == (
        "1.3",
        {"us-half-1873": (37, 42), "uk-sovereign-1817": (31, 30), "uk-penny-copper-1825": (31, 28)},
    )
