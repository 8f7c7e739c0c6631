"""The rules of the house that a machine can check: layers, sizes, frozen records, doors."""

from __future__ import annotations

import ast
import dataclasses
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from importlinter.cli import EXIT_STATUS_SUCCESS, lint_imports

from lotscreen.settings import Settings

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "lotscreen"
SOURCES = sorted(PACKAGE.rglob("*.py"))
TESTS = sorted((ROOT / "tests").rglob("*.py"))

LONG_FILES = {
    "lotscreen/records.py": "the contract between all rooms is read in one place",
}
"""Files of the package over 300 lines, each with the reason why it is not cut in two."""

MODULE_LIMIT = 300
HARD_MODULE_LIMIT = 400
HARD_TESTS_LIMIT = 600
SCREENFUL = 40
HARD_BODY_LIMIT = 80


def _name(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def _tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"), filename=str(path))


def _functions(tree: ast.AST) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


def _body_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    body = function.body
    if ast.get_docstring(function) is not None:
        body = body[1:]
    if not body:
        return 0
    return (body[-1].end_lineno or body[-1].lineno) - body[0].lineno + 1


def test_import_layers_are_kept(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(ROOT)
    status = lint_imports(config_filename="pyproject.toml", no_cache=True)
    assert status == EXIT_STATUS_SUCCESS, capsys.readouterr().out


def _lengths(paths: list[Path]) -> dict[str, int]:
    return {_name(path): len(path.read_text(encoding="utf-8").splitlines()) for path in paths}


def test_files_of_the_package_have_one_purpose_and_fit_in_mind() -> None:
    lengths = _lengths(SOURCES)
    assert not {name: n for name, n in lengths.items() if n > HARD_MODULE_LIMIT}
    long = {name for name, n in lengths.items() if n > MODULE_LIMIT}
    assert long == set(LONG_FILES), "cut the file, or give its reason in LONG_FILES"


def test_files_of_tests_are_mostly_short() -> None:
    """A file of tests is a list of cases: it may be longer, but few are."""
    lengths = _lengths(TESTS)
    assert not {name: n for name, n in lengths.items() if n > HARD_TESTS_LIMIT}
    long = [name for name, n in lengths.items() if n > MODULE_LIMIT]
    assert len(long) <= 0.1 * len(lengths), long


def test_function_bodies_fit_a_screen() -> None:
    lines = {
        f"{_name(path)}:{function.lineno} {function.name}": _body_lines(function)
        for path in SOURCES
        for function in _functions(_tree(path))
    }
    beyond = {name: n for name, n in lines.items() if n > HARD_BODY_LIMIT}
    assert not beyond
    over_a_screen = [name for name, n in lines.items() if n >= SCREENFUL]
    assert len(over_a_screen) <= 0.1 * len(lines), over_a_screen


def _dataclass_options(node: ast.ClassDef) -> set[str] | None:
    """The options set True on a ``@dataclass`` class; None where it is no dataclass."""
    for decorator in node.decorator_list:
        call = decorator.func if isinstance(decorator, ast.Call) else decorator
        if getattr(call, "id", getattr(call, "attr", "")) != "dataclass":
            continue
        keywords = decorator.keywords if isinstance(decorator, ast.Call) else []
        return {
            k.arg or "" for k in keywords if isinstance(k.value, ast.Constant) and k.value.value
        }
    return None


def test_records_are_frozen_and_slotted() -> None:
    loose = []
    for path in SOURCES:
        for node in ast.walk(_tree(path)):
            options = _dataclass_options(node) if isinstance(node, ast.ClassDef) else None
            if options is not None and not options >= {"frozen", "slots"}:
                loose.append(f"{_name(path)}:{node.lineno}")
    assert not loose


def test_input_is_never_checked_with_assert() -> None:
    found = [
        f"{_name(path)}:{node.lineno}"
        for path in SOURCES
        for node in ast.walk(_tree(path))
        if isinstance(node, ast.Assert)
    ]
    assert not found


def _is_front_door(path: Path) -> bool:
    return path == PACKAGE / "__init__.py" or PACKAGE / "cli" in path.parents


def test_no_import_hides_inside_a_function() -> None:
    """Only the doors (the command and the package itself) may, to start fast."""
    hidden = [
        f"{_name(path)}:{node.lineno}"
        for path in SOURCES
        if not _is_front_door(path)
        for function in _functions(_tree(path))
        for node in ast.walk(function)
        if isinstance(node, ast.Import | ast.ImportFrom)
    ]
    assert not hidden


def test_no_module_enters_by_the_front_door() -> None:
    """``from lotscreen import screen`` inside the package would close a circle."""
    rooms = {path.stem for path in PACKAGE.iterdir()} | {"__version__"}
    entered = []
    for path in SOURCES:
        for node in ast.walk(_tree(path)):
            if isinstance(node, ast.ImportFrom) and node.module == "lotscreen":
                entered += [f"{_name(path)}: {a.name}" for a in node.names if a.name not in rooms]
            if isinstance(node, ast.Import):
                entered += [f"{_name(path)}: import" for a in node.names if a.name == "lotscreen"]
    assert not entered


CLOCKS = {"now", "today", "utcnow", "time", "time_ns", "gmtime", "localtime"}
CLOCK_OWNERS = {"datetime", "date", "time"}


def _is_clock_or_unseeded(call: ast.Call) -> bool:
    function = call.func
    name = getattr(function, "attr", getattr(function, "id", ""))
    owner = getattr(getattr(function, "value", None), "id", "") or getattr(
        getattr(function, "value", None), "attr", ""
    )
    unseeded = name in {"default_rng", "SeedSequence"} and not call.args and not call.keywords
    return unseeded or (name in CLOCKS and owner in CLOCK_OWNERS)


CLOCK_DOOR = PACKAGE / "cli" / "clock.py"
"""A record in the ledger that names no time takes it here, and nothing else does."""


def test_no_clock_and_no_unseeded_randomness() -> None:
    """Same input and settings give the same bytes."""
    found = [
        f"{_name(path)}:{node.lineno}"
        for path in SOURCES
        if path != CLOCK_DOOR
        for node in ast.walk(_tree(path))
        if isinstance(node, ast.Call) and _is_clock_or_unseeded(node)
    ]
    assert not found


def test_every_module_says_what_it_is_for() -> None:
    silent = [_name(path) for path in SOURCES + TESTS if not ast.get_docstring(_tree(path))]
    assert not silent


def test_every_setting_has_unit_range_and_source() -> None:
    for setting in dataclasses.fields(Settings):
        meta = setting.metadata
        assert meta["unit"], setting.name
        assert meta["source"], setting.name
        assert meta["says"], setting.name
        assert meta["low"] < meta["high"], setting.name


LEFT_OUT_TEST = """
import pytest

def test_left_out():
    pytest.skip("no typewriter on this machine")
"""


@pytest.mark.parametrize(("ci", "status"), [("", 0), ("true", 1)])
def test_a_left_out_test_fails_in_ci_only(tmp_path: Path, ci: str, status: int) -> None:
    shutil.copy(ROOT / "tests" / "conftest.py", tmp_path)
    (tmp_path / "test_left_out.py").write_text(LEFT_OUT_TEST, encoding="utf-8")
    command = [sys.executable, "-m", "pytest", "-q", "-ra", "-p", "no:cacheprovider"]
    run = subprocess.run(
        command, cwd=tmp_path, env={**os.environ, "CI": ci}, capture_output=True, text=True
    )
    assert run.returncode == status, run.stdout + run.stderr
    assert "no typewriter on this machine" in run.stdout
