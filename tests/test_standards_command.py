"""``lotscreen types``: lists, searches, shows, prints JSON, fits 80 columns."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from lotscreen.cli import app
from lotscreen.standards import StandardsTable, load_standards


def _run(*arguments: str, code: int = 0) -> tuple[str, str]:
    result = CliRunner().invoke(app, ["types", *arguments])
    assert result.exit_code == code, result.output
    return result.stdout, result.stderr


def test_the_list_has_every_type_and_fits() -> None:
    printed, complaints = _run()
    assert all(coin.key in printed for coin in load_standards().types)
    assert max(map(len, printed.splitlines())) <= 80
    assert complaints == ""


@pytest.mark.parametrize("coin", load_standards().types, ids=lambda coin: coin.key)
def test_every_page_fits_and_has_its_sources(coin: object) -> None:
    key = getattr(coin, "key", "")
    printed, _ = _run("--show", key)
    assert max(map(len, printed.splitlines())) <= 80
    flat = " ".join(printed.split())
    for source in load_standards().get(key).sources.values():
        assert " ".join(source.split()) in flat


def test_the_difference_to_the_printed_figure_is_shown() -> None:
    flat = " ".join(_run("--show", "uk-5-pounds-1820")[0].split())
    assert "39.94028 g (616.37239 gr); 616.37239 gr are 39.94026 g, 0.00002 g from" in flat
    assert "25.550 gr" in _run("--show", "us-gold-dollar-1854")[0]


def test_a_search_says_what_a_sheet_would_mean() -> None:
    printed, _ = _run("half dollar 1873")
    assert 'A sheet that says "half dollar 1873" means us-half-1873.' in printed
    assert "arrows" in printed
    assert "us-half-1853 " in printed
    nothing, _ = _run("zzz")
    assert "No type on file" in nothing


def test_json_is_the_saved_table() -> None:
    saved = json.loads(_run("--json")[0])
    assert saved["schema"] == "1.0"
    assert StandardsTable.from_dict(saved) == load_standards()
    one = json.loads(_run("--json", "--show", "us-half-1873")[0])
    assert [entry["weight_g"] for entry in one["types"]] == [12.5]


def test_mistakes_end_with_the_code_for_standards(tmp_path: Path) -> None:
    _, complaint = _run("--show", "us-half-1874", code=5)
    assert "us-half-1873" in complaint
    wrong = tmp_path / "mine.toml"
    wrong.write_text("[[type]]\nkey = 'x'\n", encoding="utf-8")
    _, complaint = _run("--standards", str(wrong), code=5)
    assert "mine.toml: type x: name is missing" in complaint
