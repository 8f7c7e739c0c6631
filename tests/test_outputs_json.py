"""lot.json keeps to its schema, adds up, and tells what a program needs."""

from __future__ import annotations

import json
from dataclasses import replace
from importlib.resources import files
from typing import Any

import jsonschema
import numpy as np
import pytest
from outputs_lot import mixed
from report_lot import invented

from lotscreen.records import FindingKind
from lotscreen.report.lot_json import lot_json
from lotscreen.screening import Screening
from lotscreen.settings import Settings


def _schema() -> dict[str, Any]:
    text = (files("lotscreen.report") / "schemas" / "lot-1.0.json").read_text(encoding="utf-8")
    schema: dict[str, Any] = json.loads(text)
    return schema


def _told(screening: Screening) -> dict[str, Any]:
    options = {"type": "", "check": ((20.0, 19.98),), "lot": None}
    told: dict[str, Any] = json.loads(lot_json(screening, options, "1.2.3", "0" * 12))
    return told


def _complaints(told: Any) -> list[str]:
    checker = jsonschema.Draft202012Validator(_schema())
    return [f"{error.json_path}: {error.message}" for error in checker.iter_errors(told)]


def test_the_schema_itself_is_one() -> None:
    jsonschema.Draft202012Validator.check_schema(_schema())


@pytest.mark.parametrize("lots", [("",), ("K-01", "K-02")])
def test_lot_json_keeps_to_its_schema(lots: tuple[str, ...]) -> None:
    assert _complaints(_told(invented(60, lots))) == []


def test_lot_json_of_a_lot_with_everything_keeps_to_its_schema() -> None:
    assert _complaints(_told(mixed())) == []


@pytest.mark.parametrize(
    ("where", "value"),
    [
        (("schema",), "2.0"), (("rows", "read"), -1), (("counts", "set aside"), "4"),
        (("lots", 0, "pull", 0, "finding"), "odd"), (("run", "digest"), "x"),
        (("lots", 0, "running", "mode"), "both"), (("sources", 0, "digest"), None),
    ],
)  # fmt: skip
def test_the_schema_refuses_what_is_wrong(where: tuple[Any, ...], value: Any) -> None:
    told = _told(mixed())
    *path, last = where
    inner: Any = told
    for step in path:
        inner = inner[step]
    inner[last] = value
    assert _complaints(told)


def test_the_schema_names_every_field_that_is_told() -> None:
    """A field added to a record is added to the schema too."""

    def unnamed(value: Any, schema: dict[str, Any], path: str) -> list[str]:
        schema = schema.get("anyOf", [schema])[-1]
        if "$ref" in schema:
            schema = whole["$defs"][schema["$ref"].rpartition("/")[2]]
        if isinstance(value, list):
            return [p for inner in value for p in unnamed(inner, schema["items"], path + "[]")]
        if not isinstance(value, dict) or "properties" not in schema:
            return []
        named = schema["properties"]
        missing = [f"{path}.{key}" for key in value if key not in named]
        inner_missing = [
            p
            for key in value
            if key in named
            for p in unnamed(value[key], named[key], f"{path}.{key}")
        ]
        return missing + inner_missing

    whole = _schema()
    assert unnamed(_told(mixed()), whole, "") == []


def test_counts_add_up() -> None:
    told = _told(mixed())
    rows = told["rows"]
    parts = ("coins", "groups", "check_weights", "reference_pieces")
    assert rows["used"] == sum(rows[part] for part in parts)
    assert rows["read"] == rows["used"] + rows["left_out"]
    assert sum(lot["items"] for lot in told["parcel"]["lots"]) == rows["used"]
    assert [lot["name"] for lot in told["parcel"]["lots"]] == [lot["lot"] for lot in told["lots"]]
    assert told["parcel"]["files"] == [source["name"] for source in told["sources"]]
    assert sum(told["counts"].values()) == rows["coins"]
    assert set(told["counts"]) == {kind.value for kind in FindingKind}
    pulled = told["counts"]["set aside"] + told["counts"]["not consistent"]
    assert sum(len(lot["pull"]) for lot in told["lots"]) == pulled > 0
    again = sum(len(lot["re_measure"]) for lot in told["lots"])
    assert again == told["counts"]["re-measure"] > 0


def test_coins_that_need_a_hand_are_found_by_roll_and_position() -> None:
    made = mixed()
    told = _told(made)
    items = made.intake.items.set_index("item_id")
    for coin in told["lots"][1]["pull"]:
        item = items.loc[coin["item_id"]]
        assert (coin["coin_id"], coin["group"]) == (item["coin_id"], item["group"])
        assert coin["position"] == item["position"]


def test_settings_and_options_are_told_exactly_and_missing_numbers_are_null() -> None:
    made = replace(mixed(), settings=Settings(limit=0.0012345678))
    findings = replace(made.findings, score=np.full(len(made.findings), np.inf))
    told = _told(replace(made, findings=findings))
    assert told["run"]["settings"]["limit"] == 0.0012345678
    assert told["run"]["settings"]["own_rate"] is None
    assert told["run"]["settings_digest"] == made.settings.digest()
    assert told["run"]["options"]["check"] == [[20.0, 19.98]]
    assert told["program"] == {"name": "lotscreen", "version": "1.2.3"}
    assert {coin["score"] for coin in told["lots"][0]["pull"]} == {None}


def test_numbers_have_six_significant_digits() -> None:
    made = mixed()
    lot = replace(
        made.lots["K-01"], expected_honest_set_aside=1 / 3, fine_ounces={"silver": 1e3 / 7}
    )
    told = _told(replace(made, lots={**made.lots, "K-01": lot}))
    assert told["lots"][0]["expected_honest_set_aside"] == 0.333333
    assert told["lots"][0]["fine_ounces"] == {"silver": 142.857}


def test_standards_told_are_those_used_with_their_sources() -> None:
    told = _told(mixed())
    keys = {standard["key"] for standard in told["standards"]}
    assert "us-half-1873" in keys
    assert keys <= {"us-half-1873", "us-half-1965"}
    assert all(standard["sources"] for standard in told["standards"])
