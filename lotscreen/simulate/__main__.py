"""``python -m lotscreen.simulate FOLDER`` writes the sample lots and their keys."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from lotscreen.records import LotscreenError, OutputError
from lotscreen.simulate.samples import sample_files
from lotscreen.standards import load_standards
from lotscreen.words import say


def main(arguments: Sequence[str] | None = None) -> int:
    """Exit code 0, or that of the error, whose message goes to stderr."""
    parser = argparse.ArgumentParser(
        "python -m lotscreen.simulate", description=say("simulate.help")
    )
    parser.add_argument("folder", type=Path, help=say("simulate.help_folder"))
    folder: Path = parser.parse_args(arguments).folder
    try:
        for name, content in sample_files(load_standards()).items():
            _write(folder / name, content)
            print(say("simulate.written", name=name, count=len(content)))
    except LotscreenError as error:
        print(error, file=sys.stderr)
        return error.exit_code
    return 0


def _write(path: Path, content: bytes) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    except OSError as error:
        raise OutputError(
            say("simulate.cannot_write", path=path, why=error.strerror or error)
        ) from error


if __name__ == "__main__":
    sys.exit(main())
