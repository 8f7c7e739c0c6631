"""The four sample lots: each a file with a sheet and a key that tells the truth."""

from __future__ import annotations

from lotscreen.simulate.samples.bag import salted_bag
from lotscreen.simulate.samples.files import SampleLot
from lotscreen.simulate.samples.honest import all_honest
from lotscreen.simulate.samples.jar import jar_of_halves
from lotscreen.simulate.samples.parcels import two_parcels
from lotscreen.standards import StandardsTable

__all__ = ["SampleLot", "sample_files"]

_SAMPLES = (jar_of_halves, two_parcels, salted_bag, all_honest)


def sample_files(standards: StandardsTable) -> dict[str, bytes]:
    """Every file of the sample folder by its path within it."""
    files: dict[str, bytes] = {}
    for draw in _SAMPLES:
        sample = draw(standards)
        files[sample.file_name] = sample.sheet
        files[f"keys/{sample.key_name}"] = sample.key
    return files
