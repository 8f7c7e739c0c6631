"""The sample lots: each a file with a sheet and a key that tells the truth."""

from __future__ import annotations

from lotscreen.simulate.samples.bag import salted_bag
from lotscreen.simulate.samples.clip_and_file import clip_and_file
from lotscreen.simulate.samples.crown_size import crown_size
from lotscreen.simulate.samples.files import SampleLot
from lotscreen.simulate.samples.honest import all_honest
from lotscreen.simulate.samples.jar import jar_of_halves
from lotscreen.simulate.samples.parcels import two_parcels
from lotscreen.simulate.samples.practice_trays import tray_files
from lotscreen.simulate.samples.tin_box import tin_box
from lotscreen.simulate.samples.training_register import training_register
from lotscreen.simulate.samples.wrong_planchet import wrong_planchet
from lotscreen.standards import StandardsTable

__all__ = ["SampleLot", "sample_files"]

_SAMPLES = (
    jar_of_halves, two_parcels, salted_bag, all_honest, tin_box, wrong_planchet, crown_size,
    clip_and_file, training_register,
)  # fmt: skip


def sample_files(standards: StandardsTable) -> dict[str, bytes]:
    """Every file of the sample folder by its path within it."""
    files: dict[str, bytes] = {}
    for draw in _SAMPLES:
        sample = draw(standards)
        files[sample.file_name] = sample.sheet
        files[f"keys/{sample.key_name}"] = sample.key
    return {**files, **tray_files()}
