"""The sample lots in the repository are what the seeded script draws, and what their
page says they are."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pandas as pd
import pytest
from odf.opendocument import load as load_ods
from odf.table import TableRow

from lotscreen.simulate.__main__ import main
from lotscreen.simulate.samples import sample_files
from lotscreen.standards import load_standards

SAMPLES = Path(__file__).parent.parent / "sample_lots"
KINDS_BY_SAMPLE = {
    "all_honest": {"honest": 1000},
    "jar_of_halves": {
        "honest": 1949,
        "40 % half": 31,
        "brass, right size": 14,
        "brass, right weight": 3,
        "nickel silver, right weight": 3,
    },
    "two_parcels": {"honest": 113, "cast, one mould": 7},
    "salted_bag": {"honest": 3880, "pewter, right size": 60, "brass, right size": 60},
    "tin_box": {
        "honest": 53,
        "from a mount": 3,
        "nine carat, right size": 2,
        "tungsten alloy, right weight": 1,
    },
    "wrong_planchet": {
        "honest": 195,
        "on a quarter's planchet": 1,
        "on a cent's planchet": 1,
        "trade dollar": 3,
    },
    "crown_size": {"honest": 116, "brass, right size": 2, "lead alloy, right size": 1, "cast": 1},
    "clip_and_file": {"honest": 70, "clipped": 5, "filed": 4, "plugged": 6},
}


@pytest.fixture(scope="module")
def drawn() -> dict[str, bytes]:
    return sample_files(load_standards())


def _key(name: str) -> pd.DataFrame:
    return pd.read_csv(SAMPLES / "keys" / f"{name}_key.csv", dtype=str, keep_default_na=False)


def _content(file: bytes) -> object:
    """The file itself, or the members of an archive: how hard a library squeezes them is
    its own affair."""
    if not zipfile.is_zipfile(io.BytesIO(file)):
        return file
    with zipfile.ZipFile(io.BytesIO(file)) as archive:
        return [(m.filename, m.date_time, archive.read(m)) for m in archive.infolist()]


def test_the_committed_files_are_what_the_script_draws(drawn: dict[str, bytes]):
    on_disk = {
        str(path.relative_to(SAMPLES).as_posix())
        for path in SAMPLES.rglob("*")
        if path.is_file() and path.name != "README.md"
    }
    assert on_disk == set(drawn)
    for name, content in drawn.items():
        assert _content((SAMPLES / name).read_bytes()) == _content(content), name


def test_the_command_writes_the_same_bytes(
    drawn: dict[str, bytes], tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    assert main([str(tmp_path / "new")]) == 0
    told = capsys.readouterr().out.splitlines()
    assert told == [f"{name}: {len(content)} bytes" for name, content in drawn.items()]
    for name, content in drawn.items():
        assert (tmp_path / "new" / name).read_bytes() == content


def test_a_folder_that_cannot_be_written_ends_with_a_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    (tmp_path / "taken").write_text("a file")
    assert main([str(tmp_path / "taken")]) == 6
    assert "taken" in capsys.readouterr().err


@pytest.mark.parametrize("name", sorted(KINDS_BY_SAMPLE))
def test_each_key_holds_the_kinds_its_page_names(name: str):
    assert _key(name)["true_kind"].value_counts().to_dict() == KINDS_BY_SAMPLE[name]
    page = (SAMPLES / "README.md").read_text(encoding="utf-8")
    assert "invented" in page
    assert any(line.startswith(f"## {name}.") for line in page.splitlines())


def test_the_thick_halves_are_among_those_fully_measured():
    sheet = pd.read_excel(SAMPLES / "jar_of_halves.xlsx", header=3, dtype=str, engine="calamine")
    coins = sheet[sheet["Roll"].notna()].reset_index(drop=True)
    key = _key("jar_of_halves")
    assert list(coins["No"]) == list(key["coin_id"])
    measured = coins["T (mm)"].notna()
    assert measured.sum() == 150
    assert measured[key["true_kind"].str.endswith("right weight")].all()


def test_the_jar_has_the_faults_it_teaches():
    key = _key("jar_of_halves")
    sheet = pd.read_excel(SAMPLES / "jar_of_halves.xlsx", header=3, dtype=str, engine="calamine")
    faults = set("; ".join(key["injected_fault"]).split("; "))
    assert {"decimal slip", "not tared", "date copied down"} <= faults
    assert (sheet["Denom"] == '"').sum() == 1900
    assert sheet["Year"].str.contains(r"^\d{4}-[DS]$").sum() > 500
    assert (sheet["Denom"] == "check weight 20.00 g").sum() == 21


def test_the_bag_of_the_jar_was_weighed_with_its_own_weight():
    together = pd.read_excel(
        SAMPLES / "jar_of_halves.xlsx", sheet_name="together", header=2, engine="calamine"
    )
    bag, rolls = together.iloc[0], together.iloc[1:]
    coins_g = _key("jar_of_halves")["true_weight_g"].astype(float).sum()
    assert 50 < bag["Wt(g)"] - coins_g < 150
    assert rolls["Count"].eq(20).all()
    assert rolls["Wt(g)"].sum() == pytest.approx(coins_g, abs=5)


def test_the_cast_family_lies_in_both_parcels():
    lines = (SAMPLES / "two_parcels.csv").read_text(encoding="utf-8").splitlines()
    header = lines.index("Lot;Sub;Beschreibung;Jahr;Gewicht;Durchm.;Dicke")
    consignor = pd.Series([line.split(";")[0] for line in lines[header + 1 :]])
    key = _key("two_parcels")
    cast = key["true_kind"] == "cast, one mould"
    assert consignor[cast].value_counts().to_dict() == {"K-01": 4, "K-02": 3}
    family, others = key[cast], key[~cast]
    across = family["true_diameter_mm"].astype(float)
    light = family["true_weight_g"].astype(float) / 26.72955
    assert (across - 38.1).mean() == pytest.approx(-0.47, abs=0.06)
    assert across.std() < 0.03
    assert 0.94 < light.min() < light.max() < 0.965
    assert others["true_diameter_mm"].astype(float).min() > across.max()


def test_the_bag_is_salted_at_the_bottom_only():
    key = _key("salted_bag")
    other = key.index[key["true_kind"] != "honest"]
    assert other.min() >= 2667
    assert key["true_wear_percent"].astype(float).mean() == pytest.approx(3.0, abs=0.1)


def test_another_reader_of_opendocument_finds_the_bag_whole():
    book = load_ods(SAMPLES / "salted_bag.ods")
    assert len(book.getElementsByType(TableRow)) == 4003
