"""The command: which parts, how thorough, one table on stdout, progress on stderr."""

from __future__ import annotations

import argparse
import sys
import time
from importlib import import_module

from lotscreen.one_thread import one_thread

from .table import Line, Row, printed, summary

PARTS = {
    "rates": "rates",
    "power": "power",
    "explain": "explain",
    "whole": "whole",
    "time": "speed",
}


def main(arguments: list[str] | None = None) -> int:
    """Print the table of the parts asked for."""
    parser = argparse.ArgumentParser(prog="benchmarks/engine", description=__doc__)
    parser.add_argument("--quick", action="store_true", help="fewer lots: minutes, not hours")
    parser.add_argument("--part", choices=sorted(PARTS), action="append", help="only this part")
    chosen = parser.parse_args(arguments)
    rows = _run(chosen.part or list(PARTS), chosen.quick)
    print("\n".join(printed(rows)))
    print(f"\n{summary(rows)}")
    return 0


@one_thread
def _run(parts: list[str], quick: bool) -> list[Row | Line]:
    rows: list[Row | Line] = []
    for name in parts:
        begin = time.process_time()
        module = import_module(f".{PARTS[name]}", __package__)
        rows += module.rows(module.QUICK if quick else module.FULL, _tell)
        _tell(f"{name}: {time.process_time() - begin:.0f} s of processor time")
    return rows


def _tell(message: str) -> None:
    print(message, file=sys.stderr, flush=True)
