"""Coverage-guided fuzzing of the reader, run by hand (it needs the package atheris):

    python tests/fuzz/fuzz_reader.py -max_total_time=600 NEW_CORPUS tests/fuzz/corpus

Inputs that reach new code are kept in NEW_CORPUS; one that ends in anything but a message
or an intake is written to a file crash-... and shown. A crash that is mended becomes a file
of tests/fuzz/corpus, which tests/test_fuzz_corpus.py reads on every run.
"""

from __future__ import annotations

import sys
from pathlib import Path

import atheris

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parent)]
with atheris.instrument_imports(include=["lotscreen.intake", "lotscreen.quantities"]):
    from target import read_bytes

atheris.Setup(sys.argv, read_bytes)
atheris.Fuzz()
