"""From the jar of 2,000 half dollars to the finished report, split by stage.

Run by hand: ``python tests/benchmarks/bench_jar.py [SHEET] [--repeat N]``. Machines differ,
so every time also stands as a multiple of the bare reading of the same workbook, taken in
the same run. Wall time is what a user waits; processor time is steadier on a busy machine.
Of several repeats the fastest is printed.
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import python_calamine

import lotscreen

ROOT = Path(__file__).parent.parent.parent
JAR = ROOT / "sample_lots" / "jar_of_halves.xlsx"
COMMAND = [sys.executable, "-c", "import sys; from lotscreen.cli import main; sys.exit(main())"]
LOADING = [sys.executable, "-c", "import lotscreen.screening, lotscreen.report.outputs"]
TARGETS_S = {"lotscreen --help": 0.2, "lotscreen screen, to the finished report": 8.0}


@dataclass(frozen=True, slots=True)
class Timed:
    """One stage: seconds a user waits, and seconds of processor time."""

    name: str
    wall_s: float
    processor_s: float


class Splitter:
    """A progress function that times what lies between two messages."""

    def __init__(self) -> None:
        self.times: list[Timed] = []
        self._begin = ("", 0.0, 0.0)

    def __call__(self, message: str) -> None:
        now = (message, time.perf_counter(), time.process_time())
        name, wall, processor = self._begin
        if name:
            self.times.append(Timed(name, now[1] - wall, now[2] - processor))
        self._begin = now


def bare_read(sheet: Path) -> Timed:
    """The cells of every sheet, as the reading library gives them."""
    split = Splitter()
    split("bare reading of the workbook")
    book = python_calamine.CalamineWorkbook.from_path(sheet)
    for name in book.sheet_names:
        book.get_sheet_by_name(name).to_python()
    split("done")
    return split.times[0]


def stages(sheet: Path) -> list[Timed]:
    """The stages that the command itself tells of, inside this process."""
    split = Splitter()
    with tempfile.TemporaryDirectory() as folder:
        screening = lotscreen.screen(sheet, progress=split)
        lotscreen.write_outputs(screening, Path(folder) / "out", progress=split)
        split("done")
    return split.times


def program(name: str, command: list[str], until: Callable[[str], bool]) -> Timed:
    """A command in a process of its own, until it tells a line that ``until`` accepts.

    Processor time is of the whole process.
    """
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    begin = time.perf_counter()
    reached = None
    with subprocess.Popen(
        command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True
    ) as running:
        for line in running.stderr or ():
            if reached is None and until(line):
                reached = time.perf_counter() - begin
    wall = time.perf_counter() - begin
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    used = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return Timed(name, wall if reached is None else reached, used)


def _help() -> Timed:
    return program("lotscreen --help", [*COMMAND, "--help"], lambda _: False)


def _loading() -> Timed:
    return program("loading the program", LOADING, lambda _: False)


def _screen(sheet: Path) -> Timed:
    with tempfile.TemporaryDirectory() as folder:
        command = [*COMMAND, "screen", str(sheet), "--out", str(Path(folder) / "out")]
        name = "lotscreen screen, to the finished report"
        return program(name, command, lambda line: "coins.csv" in line)


def _fastest(measure: Callable[[], Timed], repeats: int) -> Timed:
    return min((measure() for _ in range(repeats)), key=lambda timed: timed.wall_s)


def _fastest_stages(sheet: Path, repeats: int) -> list[Timed]:
    runs = [stages(sheet) for _ in range(repeats)]
    return min(runs, key=lambda run: sum(timed.wall_s for timed in run))


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sheet", nargs="?", type=Path, default=JAR)
    parser.add_argument("--repeat", type=int, default=3, metavar="N")
    chosen = parser.parse_args()
    unit = _fastest(lambda: bare_read(chosen.sheet), 3 * chosen.repeat)
    split = _fastest_stages(chosen.sheet, chosen.repeat)
    whole = Timed(
        "all stages after loading",
        sum(timed.wall_s for timed in split),
        sum(timed.processor_s for timed in split),
    )
    commands = [
        _fastest(_help, chosen.repeat),
        _fastest(lambda: _screen(chosen.sheet), chosen.repeat),
    ]
    loading = _fastest(_loading, chosen.repeat)
    print(f"{chosen.sheet.name}, fastest of {chosen.repeat}")
    print(f"{'stage':<44}{'wall s':>9}{'processor s':>13}{'times bare':>12}{'asked s':>9}")
    for timed in (unit, loading, *split, whole, *commands):
        asked = f"{TARGETS_S[timed.name]:.1f}" if timed.name in TARGETS_S else ""
        ratio = timed.wall_s / unit.wall_s
        print(f"{timed.name:<44}{timed.wall_s:>9.3f}{timed.processor_s:>13.3f}"
              f"{ratio:>12.1f}{asked:>9}")  # fmt: skip


if __name__ == "__main__":
    main()
