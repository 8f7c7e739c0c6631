"""Words that outputs print are all on file, all used, all filled, and none is barred."""

from __future__ import annotations

import ast
import re
import shutil
import string
import subprocess
import tomllib
import zipfile
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from pdf_text import page_texts

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "lotscreen"
WORDS = PACKAGE / "words"

BARRED = re.compile(r"\b(fake|forge[dr]|forger|counterfeit|genuine|authentic|guarantee)", re.I)

# Put together from pieces, so that this file does not hold what it looks for.
WEB_ADDRESS = re.compile("|".join(("htt" + r"ps?://", "ww" + r"w\.\w", "ft" + r"p://")))
HOST = re.compile(r"\b[a-z0-9][a-z0-9-]+\.(?:" + "|".join(("org", "com", "net", "gov")) + r")\b")
MACHINE_PATH = re.compile(
    r"(?<![\w.])/(?:" + "|".join(("wor" + "k", "roo" + "t", "hom" + "e", "User" + "s")) + r")/"
    r"|\b[A-Z]:\\\\"
)
OUTSIDE_PAPERS = re.compile(r"\b(?:trade|sources|methods|models|brief)\.m" + r"d\b|\bissue #?\d")

TEXT_SUFFIXES = {
    "", ".py", ".toml", ".md", ".txt", ".csv", ".tsv", ".json", ".typ", ".yml", ".cfg", ".svg",
}  # fmt: skip
ZIPPED_SUFFIXES = {".xlsx", ".ods"}


@cache
def _tracked() -> tuple[Path, ...]:
    if shutil.which("git") is None or not (ROOT / ".git").exists():
        pytest.skip("git: without it and a clone nobody knows which files are the project's")
    listed = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    paths = [ROOT / name for name in listed.stdout.split("\0") if name]
    return tuple(path for path in paths if path.is_file())


def _texts(paths: tuple[Path, ...], opened: bool) -> Iterator[tuple[str, str]]:
    """Name and text of each file that holds text; of workbooks and PDF files if ``opened``."""
    for path in paths:
        name = path.relative_to(ROOT).as_posix()
        if path.suffix in TEXT_SUFFIXES:
            yield name, path.read_text(encoding="utf-8")
        elif opened and path.suffix in ZIPPED_SUFFIXES:
            with zipfile.ZipFile(path) as book:
                for part in book.namelist():
                    yield f"{name}:{part}", book.read(part).decode("utf-8", errors="replace")
        elif opened and path.suffix == ".pdf":
            for number, text in enumerate(page_texts(path), start=1):
                yield f"{name}:page {number}", text


def _found(pattern: re.Pattern[str], texts: Iterator[tuple[str, str]]) -> list[str]:
    return [
        f"{name}:{number}: {line.strip()[:100]}"
        for name, text in texts
        for number, line in enumerate(text.splitlines(), start=1)
        if pattern.search(line)
    ]


def test_barred_words_stand_nowhere_that_a_user_reads() -> None:
    read_by_users = tuple(path for path in _tracked() if ROOT / "tests" not in path.parents)
    assert not _found(BARRED, _texts(read_by_users, opened=True))


@pytest.mark.parametrize(
    ("pattern", "caught"),
    [
        (WEB_ADDRESS, "see " + "htt" + "ps://a.b"),
        (HOST, "at lots.example." + "com today"),
        (MACHINE_PATH, "open(/" + "home/me/lot.csv)"),
        (OUTSIDE_PAPERS, "as issue " + "7 asks"),
    ],
)
def test_files_name_no_address_and_no_machine(pattern: re.Pattern[str], caught: str) -> None:
    assert pattern.search(caught)
    assert not _found(pattern, _texts(_tracked(), opened=False))


def _leaves(prefix: str, value: Any) -> Iterator[tuple[str, str]]:
    if isinstance(value, str):
        yield prefix, value
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from _leaves(f"{prefix}.{key}", inner)
    elif isinstance(value, list):
        for place, inner in enumerate(value):
            yield from _leaves(f"{prefix}.{place}", inner)


@cache
def _phrases() -> dict[str, str]:
    """Every phrase on file by its dotted key."""
    found: dict[str, str] = {}
    for path in sorted(WORDS.glob("*.toml")):
        table = tomllib.loads(path.read_text(encoding="utf-8"))
        found.update(_leaves(path.stem, table))
    return found


@cache
def _sources() -> tuple[tuple[str, tuple[ast.AST, ...]], ...]:
    """Name and nodes of every file of the package."""
    return tuple(
        (
            path.relative_to(ROOT).as_posix(),
            tuple(ast.walk(ast.parse(path.read_text(encoding="utf-8")))),
        )
        for path in sorted(PACKAGE.rglob("*.py"))
    )


def _calls(*names: str) -> Iterator[tuple[str, ast.Call]]:
    """Place and node of every call in the package of a function so named, with arguments."""
    for file, nodes in _sources():
        for node in nodes:
            if not isinstance(node, ast.Call) or not node.args:
                continue
            if getattr(node.func, "id", getattr(node.func, "attr", "")) in names:
                yield f"{file}:{node.lineno}", node


def _as_pattern(joined: ast.JoinedStr) -> re.Pattern[str]:
    """What keys an f-string can name: ``f"findings.{kind}"`` any one below findings."""
    pieces = [
        re.escape(str(part.value)) if isinstance(part, ast.Constant) else r"[\w\- .]+"
        for part in joined.values
    ]
    return re.compile("".join(pieces))


def _keys_named() -> tuple[set[str], list[re.Pattern[str]]]:
    """Strings and f-strings of the package that start with a table of words."""
    tables = tuple(f"{path.stem}." for path in WORDS.glob("*.toml"))
    exact: set[str] = set()
    patterns: list[re.Pattern[str]] = []
    for _, nodes in _sources():
        for node in nodes:
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                exact.add(node.value)
            elif isinstance(node, ast.JoinedStr):
                first = node.values[0] if node.values else None
                if isinstance(first, ast.Constant) and str(first.value).startswith(tables):
                    patterns.append(_as_pattern(node))
    return exact, patterns


def test_every_key_asked_for_is_on_file() -> None:
    missing = []
    for place, call in _calls("say", "phrase"):
        key = call.args[0]
        if isinstance(key, ast.Constant) and key.value not in _phrases():
            missing.append(f"{place}: {key.value}")
        if isinstance(key, ast.JoinedStr):
            pattern = _as_pattern(key)
            if not any(pattern.fullmatch(phrase) for phrase in _phrases()):
                missing.append(f"{place}: {pattern.pattern}")
    assert not missing


def test_every_phrase_on_file_is_used() -> None:
    exact, patterns = _keys_named()
    whole_tables = {
        str(call.args[0].value)
        for _, call in _calls("table")
        if isinstance(call.args[0], ast.Constant)
    }
    unused = [
        key
        for key in _phrases()
        if key not in exact
        and key.partition(".")[0] not in whole_tables
        and not any(pattern.fullmatch(key) for pattern in patterns)
    ]
    assert not unused


def _braces(phrase: str) -> set[str]:
    names = (name for _, name, _, _ in string.Formatter().parse(phrase) if name is not None)
    return {re.split(r"[.\[]", name)[0] for name in names}


def test_every_brace_is_filled() -> None:
    unfilled = []
    for place, call in _calls("say"):
        key = call.args[0]
        given = {keyword.arg for keyword in call.keywords}
        if not isinstance(key, ast.Constant) or None in given or key.value not in _phrases():
            continue
        for name in _braces(_phrases()[key.value]) - given:
            unfilled.append(f"{place}: {key.value} needs {name}")
    assert not unfilled
