"""How long the answers of ``plan`` and ``stop`` take, put beside their targets.

Run by hand: ``python tests/benchmarks/bench_stop.py [--repeat N]``. Machines differ, so every
time also stands as a multiple of a yardstick taken in the same run: 200,000 hashes of short
texts. Wall time is what a user waits; processor time is steadier on a busy machine. Of several
repeats the fastest is printed.

- the exact surface of a sequential test: a lot of 10,000 coins, every number drawn, 500
  states of the lot (2 s);
- the answer after coin 10,000 of a lot of 20,000: lines, bounds along the path, what is
  still expected (1 s), and one coin more by a frozen fit;
- the same through the door, a sheet of 10,000 rows read and judged, for comparison;
- the commands ``stop`` and ``read`` on that sheet, start of Python included: what ``stop``
  takes beyond reading the sheet (1 s).
"""

from __future__ import annotations

import argparse
import hashlib
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np
import pandas as pd

from lotscreen.fit_file import save_fit
from lotscreen.instruments import instruments_of
from lotscreen.intake import read_frame
from lotscreen.lot.one_at_a_time import after_coin
from lotscreen.records import ItemTable
from lotscreen.sequential.curve import curve_in_lot
from lotscreen.sequential.draw import draw_order
from lotscreen.sequential.goal import lines_of_bets
from lotscreen.sequential.lines import TwoCounts, lines_of_counts
from lotscreen.sequential.outlook import expected
from lotscreen.sequential.sampling_plan import SamplingPlan, plan_text
from lotscreen.sequential.stopping import StopState, after_coins, start
from lotscreen.settings import Settings
from lotscreen.simulate import CoinSpec, LotSpec, Wear, draw_lot
from lotscreen.standards import load_standards
from lotscreen.stopping import stop
from lotscreen.summary import summarise
from lotscreen.wear import Fit, fit
from lotscreen.wear.fit import with_types

PLAN = SamplingPlan(20_000, 0.012, tolerated_share=0.004, seed=3)
DRAWN, LEARNED = 10_000, 400
STANDARDS, SETTINGS = load_standards(), Settings()
SURFACE, ANSWER = "surface, 10,000 coins x 500 states", "answer after coin 10,000"
TARGETS_S = {SURFACE: 2.0, ANSWER: 1.0, "one coin more": 1.0}


def yardstick() -> None:
    """A fixed piece of work."""
    for n in range(200_000):
        hashlib.sha256(b"%d" % n).digest()


def surface() -> None:
    """Operating characteristic and average sample number of Wald's test without end."""
    lines = lines_of_counts(TwoCounts(10_000, 40, 500, 0.05, 0.05))
    curve_in_lot(lines, 10_000, np.linspace(0, 1500, 500).astype(np.int64))


def answer(aside: np.ndarray) -> StopState:
    """What ``stop`` works out once the coins are judged, from nothing."""
    lines_of_bets.cache_clear()
    state, none = start(PLAN), np.zeros(PLAN.batch_coins, bool)
    batches = DRAWN // PLAN.batch_coins
    for number in range(batches):
        part = slice(number * PLAN.batch_coins, (number + 1) * PLAN.batch_coins)
        bounded = number == batches - 1 or number % 9 == 0
        state = after_coins(state, aside[part], none, bounded=bounded)
    expected(PLAN, PLAN.lines(), state.drawn, state.high)
    return state


def invented() -> tuple[pd.DataFrame, Fit, ItemTable]:
    """The rows of the draw, a fit from other coins, and the table of a few."""
    coins = CoinSpec(STANDARDS.get("us-half-1873"), "US half dollar", PLAN.lot_coins,
                     tuple(range(1900, 1961)), 1965, Wear("gamma", 0.38))  # fmt: skip
    sheet = draw_lot(LotSpec((coins,), measured=0, shuffled=False), 3).sheet
    intake = read_frame(sheet.iloc[:LEARNED])
    table = summarise(intake.items, intake.readings, instruments_of(intake.readings, SETTINGS))
    table = with_types(table, STANDARDS)
    order = draw_order(PLAN.lot_coins, PLAN.seed)[:DRAWN]
    return sheet.iloc[np.sort(order) - 1], fit(table, STANDARDS, SETTINGS, 0), table


def fastest(work: Callable[[], object], repeat: int) -> tuple[float, float]:
    """Seconds that a user waits and seconds of processor time, of the fastest of ``repeat``
    runs."""
    times = []
    for _ in range(repeat):
        begin = time.perf_counter(), time.process_time()
        work()
        times.append((time.perf_counter() - begin[0], time.process_time() - begin[1]))
    return min(times)


def command(*words: str | Path) -> None:
    """One run of the command line."""
    run = [sys.executable, "-c", "from lotscreen.cli import main; main()", *map(str, words)]
    subprocess.run(run, check=True, capture_output=True)


def commands(rows: pd.DataFrame, frozen: Fit, repeat: int) -> tuple[float, float]:
    """Seconds that ``stop`` and ``read`` take on the sheet, from the shell."""
    with tempfile.TemporaryDirectory() as name:
        sheet, plan, fitted = (Path(name) / file for file in ("coins.csv", "plan.toml", "fit.json"))
        rows.to_csv(sheet, index=False)
        plan.write_text(plan_text(PLAN), encoding="utf-8")
        save_fit(frozen, fitted)
        stopped, _ = fastest(partial(command, "stop", plan, sheet, "--fit", fitted), repeat)
        was_read, _ = fastest(partial(command, "read", sheet), repeat)
    return stopped, was_read


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--repeat", type=int, default=3)
    repeat = parser.parse_args().repeat
    rng = np.random.default_rng(2)
    # between the clean and the bad lot, so that the plan goes on for long
    aside = rng.random(DRAWN) < 0.0098
    state = answer(aside)
    rows, frozen, table = invented()
    works: dict[str, Callable[[], object]] = {
        SURFACE: surface,
        ANSWER: partial(answer, aside),
        "one coin more": partial(after_coin, state, table.rows(slice(0, 1)), frozen, SETTINGS),
        "stop, 10,000 rows read and judged": partial(stop, rows, PLAN, frozen=frozen),
    }
    unit, _ = fastest(yardstick, repeat)
    print(f"yardstick {unit:.2f} s; state: {state.decision}, decided at {state.decided_at}, "
          f"{state.high} of {state.drawn} set aside")  # fmt: skip
    print(f"{'':38s}{'wall':>8s}{'processor':>12s}{'yardsticks':>12s}{'target':>10s}")
    for name, work in works.items():
        wall, processor = fastest(work, repeat)
        target = f"{TARGETS_S[name]:g} s" if name in TARGETS_S else "none"
        print(f"{name:38s}{wall:6.2f} s{processor:10.2f} s{wall / unit:12.2f}{target:>10s}")
    stopped, was_read = commands(rows, frozen, repeat)
    print(f"commands on 10,000 rows: stop {stopped:.2f} s, read {was_read:.2f} s; stop beyond "
          f"reading {stopped - was_read:.2f} s (target 1 s)")  # fmt: skip


if __name__ == "__main__":
    main()
