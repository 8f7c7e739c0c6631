"""``python tests/benchmarks/engine [--quick] [--part NAME]`` prints the table, on one core."""

from __future__ import annotations

import os
import sys
from importlib import import_module
from pathlib import Path

if __name__ == "__main__":
    # Read by the libraries when they load, so before any of them is imported.
    os.environ |= {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    sys.path[0] = str(Path(__file__).resolve().parents[2])
    sys.exit(import_module("benchmarks.engine.command").main())
