"""Folders of results: named by what went in, written whole, never overwritten unasked.

Every file is first written to a hidden folder inside the folder of the run and then moved
into place, so that no half a file is ever seen. A file that is there
already is left alone when its bytes are the same and is otherwise a reason to stop: a
person may have written into it.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lotscreen.records import OutputError, SourceFile
from lotscreen.whole_file import write_whole
from lotscreen.words import say

if TYPE_CHECKING:
    from lotscreen.screening import Screening

DIGEST_LENGTH = 12
_LONGEST_NAME = 60
_BLOCK = 1 << 20


def run_digest(screening: Screening, options: Mapping[str, Any], version: str) -> str:
    """Twelve hex digits over all that decides the outputs: names and digests of the files,
    settings, standards, ``options`` (JSON-safe), seed and version of the program."""
    decisive = {
        "sources": [(source.name, source.digest) for source in screening.intake.sources],
        "settings": asdict(screening.settings),
        "standards": screening.standards.digest,
        "options": options,
        "seed": screening.seed,
        "version": version,
    }
    text = json.dumps(decisive, sort_keys=True, ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()[:DIGEST_LENGTH]


def folder_name(sources: Sequence[SourceFile], run: str) -> str:
    """``<sheet>-<digest>``: the first file's name without what a file system may refuse."""
    stem = Path(sources[0].name).stem if sources else ""
    return f"{name_of_file(stem, _LONGEST_NAME) or 'sheet'}-{run}"


def name_of_file(text: str, longest: int) -> str:
    """``text`` without what a file system may refuse; '' where nothing is left."""
    return re.sub(r"[^\w.-]+", "-", text)[:longest].strip("-._")


def refuse_folder_in_use(folder: Path, ours: Sequence[str]) -> None:
    """OutputError where ``folder`` is a file, or holds things of which none is ours.

    To be asked before the work begins; :func:`publish` asks again, and compares.
    """
    try:
        found = _names(folder)
    except NotADirectoryError as error:
        raise OutputError(say("cli.out_is_file", path=folder)) from error
    except OSError as error:
        raise _unwritable(folder, error) from error
    if found and not found & set(ours):
        raise OutputError(say("cli.out_not_empty", path=folder))


def publish(folder: Path, writers: Mapping[str, Callable[[Path], None]]) -> bool:
    """Write all files of ``writers`` (name to a function that writes a path) to ``folder``.

    Returns whether all of them were there already, byte for byte. Files that are missing
    are added to the same run; a file that differs is an OutputError, and nothing is
    written then. Folders made for nothing are removed again.
    """
    refuse_folder_in_use(folder, list(writers))
    missing = [path for path in (folder, *folder.parents) if not path.exists()]
    stage = folder / f".partial-{os.getpid()}"
    try:
        stage.mkdir(parents=True, exist_ok=True)
        for name, write in writers.items():
            write(stage / name)
        return _move_into_place(stage, folder, list(writers))
    except OSError as error:
        name = Path(os.fsdecode(error.filename or "")).name
        raise _unwritable(folder / name if name in writers else folder, error) from error
    finally:
        shutil.rmtree(stage, ignore_errors=True)
        for path in missing:
            with suppress(OSError):  # not empty: the run was written
                path.rmdir()


def _move_into_place(stage: Path, folder: Path, names: Sequence[str]) -> bool:
    there = [name for name in names if (folder / name).exists()]
    for name in there:
        if not _same_bytes(folder / name, stage / name):
            raise OutputError(say("cli.out_differs", path=folder / name, folder=folder))
    for name in names:
        if name not in there:
            (stage / name).replace(folder / name)
    return len(there) == len(names)


def _names(folder: Path) -> set[str]:
    """Names in ``folder`` that a person would see; none where there is no folder."""
    if not folder.exists():
        return set()
    return {path.name for path in folder.iterdir() if not path.name.startswith(".")}


def write_text(text: str, path: Path) -> None:
    """Write ``text`` as UTF-8 with the line ends it has: a writer for :func:`publish`."""
    path.write_text(text, encoding="utf-8", newline="\n")


def write_file(path: Path, content: bytes) -> None:
    """Write one file by itself, whole or not at all. A file that is there already is left
    alone when its bytes are the same; OutputError where they differ or it cannot be written."""
    try:
        if path.exists():
            if path.read_bytes() == content:
                return
            raise OutputError(say("cli.file_exists", file=path.name))
        write_whole(path, content)
    except OSError as error:
        raise _unwritable(path, error) from error


def _same_bytes(one: Path, other: Path) -> bool:
    if one.stat().st_size != other.stat().st_size:
        return False
    with one.open("rb") as first, other.open("rb") as second:
        while block := first.read(_BLOCK):
            if block != second.read(_BLOCK):
                return False
    return True


def _unwritable(path: Path, error: OSError) -> OutputError:
    return OutputError(say("cli.cannot_write", path=path, reason=error.strerror or error))
