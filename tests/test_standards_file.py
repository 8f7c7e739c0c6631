"""Loading: a user's own file, what is wrong in one, the checks between figures, saving."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from importlib.resources import files
from pathlib import Path

import pytest

from lotscreen.records import StandardsError
from lotscreen.standards import StandardsTable, checks, load_standards
from lotscreen.standards.series_file import Entry

OWN = """\
[series]
state = "ruritania"

[sources]
edict = "Edict of 1850, art. 3"

[[type]]
key = "rur-thaler-1850"
name = "Ruritania thaler, 1850 to 1871"
unit = "thaler"
words = ["thaler", "taler"]
face = "1 thaler"
metal = "silver"
alloy = "silver-750"
first_year = 1850
last_year = 1871
weight_g = 22.272
remedies = [{ per_mille = 3, source = "edict" }]
circulation_end = 1876
wear_per_year = 0.0005
wear_log_sd = 0.7
source.weight_g = "edict"
source.years = "assumed"
source.circulation_end = "assumed"
source.wear_per_year = "assumed"
"""

Write = Callable[[str], Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    def put(text: str) -> Path:
        path = tmp_path / "own.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return put


def _series(name: str) -> str:
    folder = files("lotscreen.standards") / "data" / "series"
    return (folder / name).read_text(encoding="utf-8")


def test_a_type_of_ones_own(write: Write) -> None:
    table = load_standards([write(OWN)])
    coin = table.get("rur-thaler-1850")
    assert coin.remedy_g(1860) == pytest.approx(0.066816)
    assert coin.sources["weight_g"] == "Edict of 1850, art. 3"
    assert table.resolve("Ruritania Taler", 1860).key == coin.key
    assert table.resolve("Thalers", None).key == coin.key
    assert len(table.types) == len(load_standards().types) + 1
    assert table.digest != load_standards().digest


WRONG = {
    "unknown figure": ("weight_g = 22.272", "weigth_g = 22.272", ("weigth_g", "not known")),
    "no weight": ("weight_g = 22.272\n", "", ("weight_g", "missing", "give a value")),
    "weight of nothing": ("weight_g = 22.272", "weight_g = 0", ("weight_g", "0", "0.05")),
    "weight as text": ("weight_g = 22.272", 'weight_g = "22,272"', ("weight_g", "22,272")),
    "no unit": ('unit = "thaler"\n', "", ("unit", "missing")),
    "year as text": ("first_year = 1850", 'first_year = "1850"', ("first_year", "whole year")),
    "years turned round": ("last_year = 1871", "last_year = 1817", ("last_year", "1817")),
    "metal nobody knows": ("silver-750", "silver-755", ("alloy", "silver-755", "silver-750")),
    "source not listed": (
        'source.weight_g = "edict"', 'source.weight_g = "edikt"', ("source.weight_g", "edikt"),
    ),
    "no source": ('source.weight_g = "edict"\n', "", ("source.weight_g", "missing")),
    "source of nothing": (
        'source.years = "assumed"', 'source.yeras = "assumed"', ("source.yeras", "years"),
    ),
    "source without a table": (
        OWN[OWN.index("source.weight_g"):], 'source = "edict"', ("source", "edict"),
    ),
    "remedy without a weight": ("per_mille = 3, ", "", ("remedies[1]", "per_mille")),
    "remedy unknown part": ("per_mille = 3", "promille = 3", ("remedies[1].promille", "per_mille")),
    "two remedies a year": (
        'remedies = [{ per_mille = 3, source = "edict" }]',
        'remedies = [{ g = 0.1, source = "edict" }, { g = 0.2, source = "edict" }]',
        ("remedies", "from_year"),
    ),
    "key with blanks": ("rur-thaler-1850", "rur thaler", ("key", "rur thaler", "hyphens")),
    "key on file": ("rur-thaler-1850", "us-half-1873", ("key", "us-half-1873", "replaces")),
    "replaces nothing": (
        'face = "1 thaler"', 'face = "1 thaler"\nreplaces = "us-half-1874"',
        ("replaces", "us-half-1874"),
    ),
    "part of nothing": (
        'face = "1 thaler"', 'face = "1 thaler"\npart_of = { type = "rur-2", parts = 2 }',
        ("part_of", "rur-2"),
    ),
    "grains against grams": (
        "weight_g = 22.272", "weight_g = 22.272\nweight_grains = 343.5",
        ("weight_g", "22.272", "22.25843", "0.00003"),
    ),
    "least current above the standard": (
        "weight_g = 22.272",
        'weight_g = 22.272\nleast_current_g = 22.5\nsource.least_current_g = "edict"',
        ("least_current_g", "22.5", "22.27200"),
    ),
    "own density without width": (
        'alloy = "silver-750"', "density_g_cm3 = 10.0", ("density_sd_g_cm3", "missing"),
    ),
    "table nobody knows": ("[sources]", "[quellen]", ("quellen", "[sources]")),
    "unit that is no table": ("[sources]", "[unit]\nthaler = 3\n[sources]", ("unit.thaler", "3")),
    "source that is no text": ('edict = "', 'edict = 3 # "', ("sources.edict", "3")),
}  # fmt: skip


@pytest.mark.parametrize("case", WRONG)
def test_a_wrong_file_names_file_key_value_and_mend(write: Write, case: str) -> None:
    old, new, told = WRONG[case]
    assert old in OWN
    with pytest.raises(StandardsError) as caught:
        load_standards([write(OWN.replace(old, new))])
    message = str(caught.value)
    assert message.startswith("own.toml: type ")
    assert all(part in message for part in told), message
    assert caught.value.exit_code == 5


def test_a_file_that_is_no_toml_or_not_there(write: Write, tmp_path: Path) -> None:
    with pytest.raises(StandardsError, match=r"own\.toml: cannot be read"):
        load_standards([write("weight = ")])
    with pytest.raises(StandardsError, match=r"nowhere\.toml: cannot be read"):
        load_standards([tmp_path / "nowhere.toml"])
    with pytest.raises(StandardsError, match="at least one"):
        load_standards([write("[series]\nstate = 'x'\n")])


def test_a_built_in_type_is_replaced_only_on_demand(write: Write) -> None:
    own = OWN.replace("rur-thaler-1850", "us-half-1965").replace(
        'face = "1 thaler"', 'face = "1 thaler"\nreplaces = "us-half-1965"'
    )
    table = load_standards([write(own)])
    assert table.get("us-half-1965").weight_g == 22.272
    other = OWN.replace('face = "1 thaler"', 'face = "1 thaler"\nreplaces = "us-half-1965"')
    table = load_standards([write(other)])
    with pytest.raises(StandardsError, match="us-half-1965"):
        table.get("us-half-1965")
    assert load_standards().get("us-half-1965").weight_g == 11.5


def test_two_standards_of_one_unit_do_not_overlap(write: Write) -> None:
    second = OWN[OWN.index("[[type]]") :].replace("rur-thaler-1850", "rur-thaler-1871")
    second = second.replace("first_year = 1850", "first_year = 1871")
    second = second.replace("last_year = 1871", "last_year = 1880")
    with pytest.raises(StandardsError, match="rur-thaler-1850 has the same unit and metal in 1871"):
        load_standards([write(OWN + second)])
    told = second.replace('unit = "thaler"', 'unit = "thaler"\nfirst_year_shared = "crown or not"')
    table = load_standards([write(OWN + told)])
    found = table.resolve("thaler", 1871)
    assert found.key == "rur-thaler-1871"
    assert "crown or not" in found.note
    earlier = told.replace("first_year = 1871", "first_year = 1870")
    with pytest.raises(StandardsError, match="in 1870"):
        load_standards([write(OWN + earlier)])


@pytest.mark.parametrize(
    ("series", "printed", "slip", "figure"),
    [
        ("uk_gold.toml", "weight_g = 3.99402", "weight_g = 3.39402", "3.39402"),
        ("uk_gold.toml", "weight_g = 7.98805", "weight_g = 7.98850", "7.9885"),
        ("uk_gold.toml", "weight_grains = 123.27447", "weight_grains = 123.27747", "123.27747"),
        ("uk_silver.toml", "g = 0.02356, grains = 0.36363", "g = 0.02536, grains = 0.36363",
         "0.02536"),
        ("us_silver.toml", "weight_grains = 206.25", "weight_grains = 206.52", "13.38"),
        ("us_silver.toml", "weight_g = 6.25", "weight_g = 6.52", "6.52"),
    ],
)  # fmt: skip
def test_slips_of_the_pen_in_a_copied_table_are_caught(
    write: Write, series: str, printed: str, slip: str, figure: str
) -> None:
    """A print of the schedule of 1870 gives the half sovereign 3.39402 g, an encyclopaedia
    the sovereign 123.27747 grains."""
    text = _series(series)
    assert printed in text
    keys = [line for line in text.splitlines() if line.startswith("key = ")]
    replaced = text.replace(printed, slip)
    for line in keys:
        replaced = replaced.replace(line, f"{line}\nreplaces{line.removeprefix('key')}")
    with pytest.raises(StandardsError) as caught:
        load_standards([write(replaced)])
    assert figure in str(caught.value)


def test_a_table_survives_saving(write: Write) -> None:
    table = load_standards([write(OWN)])
    saved = json.loads(json.dumps(table.to_dict()))
    again = StandardsTable.from_dict(saved)
    assert again == table
    assert again.digest == table.digest
    assert again.resolve("thaler", 1860) == table.resolve("thaler", 1860)
    saved["types"][0]["weight_g"] += 0.01
    with pytest.raises(StandardsError, match="altered"):
        StandardsTable.from_dict(saved)


def test_an_unknown_key_names_its_neighbours() -> None:
    with pytest.raises(StandardsError, match="us-half-1873"):
        load_standards().get("us-halv-1873")
    with pytest.raises(StandardsError, match=r"no standard called 'zzz' on file$"):
        load_standards().get("zzz")


def test_adding_a_check_is_one_function_and_one_line(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A check of the register runs at every load and names what it refuses."""

    def no_hexagons(entries: Sequence[Entry]) -> None:
        for entry in entries:
            if entry.coin_type.unit == "hexagon":
                raise StandardsError(f"{entry.file}: {entry.coin_type.key} is a hexagon")

    seen: list[int] = []
    counted = [*checks.CHECKS, no_hexagons, lambda entries: seen.append(len(entries))]
    monkeypatch.setattr(checks, "CHECKS", counted)
    path = tmp_path / "own.toml"
    path.write_text(OWN, encoding="utf-8")
    assert load_standards([path]).get("rur-thaler-1850")
    assert seen == [len(load_standards().types) + 1]
    path.write_text(OWN.replace('unit = "thaler"', 'unit = "hexagon"'), encoding="utf-8")
    with pytest.raises(StandardsError, match="hexagon"):
        load_standards([path])
