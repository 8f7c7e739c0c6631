"""Money: stakes, offers, limits; the worked figures are reached through the command's doors."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path

import pytest
from reference import coinage_act_1870, worked_bid
from typer.testing import CliRunner

from lotscreen.cli import app
from lotscreen.money.by_face import by_face
from lotscreen.money.economics import stakes
from lotscreen.money.full_offer import BagAsked, FullOffer, full_offer_of_bag
from lotscreen.money.offer_words import offer_sentences, step_rows
from lotscreen.money.terms import Terms, load_terms, spot_of_texts
from lotscreen.records import SettingsError
from lotscreen.second_tests.metals import debased, metal_of
from lotscreen.standards import load_standards

STANDARDS = load_standards()
HALF = STANDARDS.get("us-half-1873")
SOVEREIGN = next(t for t in STANDARDS.types if t.key.startswith("uk-sovereign"))
SPOT = spot_of_texts(("silver=30", "gold=2400"), "USD", "2026-03-02 14:05", "mid")


def test_one_wrong_half_eats_nineteen_good_ones() -> None:
    found = stakes(HALF, worked_bid.SILVER, Terms().spread_silver)
    assert found.paid == pytest.approx(worked_bid.HALF_PAID, abs=0.005)
    assert found.margin == pytest.approx(worked_bid.HALF_MARGIN, abs=0.005)
    assert round(found.eats) == worked_bid.HALF_EATS
    assert found.threshold == pytest.approx(worked_bid.HALF_THRESHOLD)
    assert round(20 * found.paid) == worked_bid.HALVES_LOST_PER_PERCENT


def test_one_wrong_sovereign_eats_forty_nine() -> None:
    assert SOVEREIGN.weight_g == pytest.approx(
        coinage_act_1870.SCHEDULE["uk-sovereign-1817"][1], abs=1e-4
    )
    found = stakes(SOVEREIGN, worked_bid.GOLD, Terms().spread_gold)
    assert round(found.paid) == worked_bid.SOVEREIGN_PAID
    assert found.margin == pytest.approx(worked_bid.SOVEREIGN_MARGIN, abs=0.05)
    assert round(found.eats) == worked_bid.SOVEREIGN_EATS
    assert found.threshold == pytest.approx(worked_bid.SOVEREIGN_THRESHOLD)
    assert round(2 * found.paid) == worked_bid.SOVEREIGNS_LOST_PER_PERCENT


def test_a_forty_per_cent_half_paid_as_ninety_loses_three_fifths_of_the_price() -> None:
    forty = STANDARDS.get("us-half-1965")
    holds, believed = (stakes(t, worked_bid.SILVER, 0.0) for t in (forty, HALF))
    assert [each.melt / worked_bid.SILVER for each in (holds, believed)] == pytest.approx(
        [worked_bid.FORTY_PERCENT_OUNCES, worked_bid.NINETY_PERCENT_OUNCES], abs=5e-5
    )
    lost = believed.paid - holds.melt
    assert lost / believed.paid == pytest.approx(worked_bid.FORTY_PERCENT_LOST, abs=0.005)


def test_a_tare_left_in_costs_its_weight_in_silver() -> None:
    def melt(net_g: float) -> float:
        bag = BagAsked(worked_bid.COINS, net_g, worked_bid.NET_SD_G, 0, 0)
        return full_offer_of_bag(HALF, bag, SPOT, Terms()).offer.whole.melt

    money = melt(worked_bid.NET_G + worked_bid.BAG_TARE_G) - melt(worked_bid.NET_G)
    assert round(money) == worked_bid.BAG_TARE_MONEY


def test_poorer_silver_keeps_seven_eighths_of_its_melt() -> None:
    poorer = debased(HALF, 10.15 / 10.31)
    kept = poorer.fine["silver"] / 0.9 * (10.15 / 10.31)
    assert kept == pytest.approx(worked_bid.KEPT_BY_800, abs=0.01)
    assert metal_of(HALF).fine == {"silver": 0.9}


def _worked(terms: Terms) -> FullOffer:
    bag = BagAsked(
        worked_bid.COINS, worked_bid.NET_G, worked_bid.NET_SD_G, worked_bid.MEASURED,
        worked_bid.CONFIRMED,
    )  # fmt: skip
    return full_offer_of_bag(HALF, bag, SPOT, terms)


def test_the_bid_worked_by_hand() -> None:
    """Its simulation leaves a unit or two of money open; so do the brass's 10.37 g a coin."""
    bid = _worked(Terms(fixed=150, work=300, fineness_sd=0.0)).offer.whole
    assert [round(x) for x in bid.departing] == list(worked_bid.DEPARTING)
    assert bid.ounces_at["silver"] == pytest.approx(worked_bid.OUNCES, abs=0.05)
    assert bid.ounces_mean["silver"] == pytest.approx(worked_bid.OUNCES_MEAN, abs=0.015)
    assert bid.melt_at == pytest.approx(worked_bid.MELT, abs=1.5)
    assert bid.melt_mean == pytest.approx(worked_bid.MELT_MEAN, abs=1.0)
    assert bid.melt == pytest.approx(worked_bid.BY_WEIGHT, abs=0.5)
    assert bid.bid == pytest.approx(worked_bid.BID, abs=1.0)
    assert bid.bid_bad == pytest.approx(worked_bid.BID_BAD, abs=1.5)
    assert bid.bid - bid.bid_bad == pytest.approx(worked_bid.PREMIUM, abs=1.5)


def test_by_face_is_dearer_than_by_weight() -> None:
    face = by_face(
        {HALF.key: worked_bid.COINS}, {HALF.key: HALF}, SPOT, {HALF.key: worked_bid.BY_WEIGHT / 30}
    )
    assert face is not None
    assert face.melt_worn == pytest.approx(worked_bid.BY_FACE)
    assert face.melt_worn > face.melt_weight == pytest.approx(worked_bid.BY_WEIGHT)
    gold = {SOVEREIGN.key: SOVEREIGN}
    assert by_face({SOVEREIGN.key: 3}, gold, SPOT, {SOVEREIGN.key: 0.7}) is None


def test_steps_lead_from_melt_to_bid() -> None:
    for bad in (False, True):
        steps = _worked(Terms(fixed=150, work=300)).offer.whole.steps
        left = [s.left_bad if bad else s.left for s in steps]
        off = [s.off_bad if bad else s.off for s in steps]
        for before, after, taken in zip(left, left[1:], off[1:], strict=False):
            assert before - taken == pytest.approx(after)
        assert [s.key for s in steps] == ["melt", "doubt", "spread", "fixed", "work", "bid"]


@pytest.mark.parametrize("net", [24_690.0, 24_700.3, 24_711.7, 24_650.1, 24_733.9, 24_721.2])
def test_the_printed_columns_add_up_to_the_cent(net: float) -> None:
    terms = Terms(spread_silver=0.047, fixed=20, work=15.25)
    offer = full_offer_of_bag(HALF, BagAsked(2000, net, 5.0, 150, 1), SPOT, terms).offer
    rows = [
        [Decimal(c.replace(",", "").replace("−", "-")) for c in r[1:]] for r in step_rows(offer)
    ]
    for column in zip(*rows, strict=True):
        assert sum(column[:-1]) == column[-1]
    mean, bad = rows[-1]
    assert f"The {mean - bad:,.2f} USD between" in " ".join(offer_sentences(offer))


def test_fineness_not_known_lowers_the_bad_case_only() -> None:
    sure, unsure = _worked(Terms(fineness_sd=0.0)), _worked(Terms(fineness_sd=0.01))
    assert sure.offer.whole.bid == pytest.approx(unsure.offer.whole.bid, rel=1e-6)
    assert unsure.offer.whole.bid_bad < sure.offer.whole.bid_bad - 50


def test_more_wrong_coins_among_those_measured_lower_the_bid() -> None:
    def bid(departing: int) -> float:
        bag = BagAsked(2000, 24690.0, 5.0, 150, departing)
        return full_offer_of_bag(HALF, bag, SPOT, Terms()).offer.whole.bid

    assert bid(0) > bid(1) > bid(3)


@pytest.mark.parametrize(
    ("text", "at", "side", "word"),
    [
        ("silver", "2026-03-02 14:05", "mid", "silver=30"),
        ("silver=-3", "2026-03-02 14:05", "mid", "silver=30"),
        ("silver=30", "today", "mid", "2026-03-02 14:05"),
        ("silver=30", "2026-03-02 14:05", "last", "mid, bid, ask"),
    ],
)
def test_a_spot_not_understood_names_the_mend(text: str, at: str, side: str, word: str) -> None:
    with pytest.raises(SettingsError, match=word):
        spot_of_texts((text,), "USD", at, side)


def test_terms_of_a_file_are_checked(tmp_path: Path) -> None:
    path = tmp_path / "terms.toml"
    path.write_text("spread_silver = 0.07\nwage = 50\n", encoding="utf-8")
    terms = load_terms(path, {"wage": 40, "fixed": None})
    assert (terms.spread_silver, terms.wage, terms.fixed) == (0.07, 40, 0.0)
    path.write_text("spred = 0.07\n", encoding="utf-8")
    with pytest.raises(SettingsError, match="spred"):
        load_terms(path, {})
    with pytest.raises(SettingsError, match="spread_gold"):
        load_terms(None, {"spread_gold": 1.5})


BAG = [
    "offer", "--type", "us-half-1873", "--coins", "2000", "--net", "24690", "--net-sd", "5",
    "--measured", "150", "--departing", "1", "--spot", "silver=30", "--currency", "USD",
    "--at", "2026-03-02 14:05", "--fixed", "150", "--work", "300",
]  # fmt: skip


def test_the_command_prints_the_offer_in_80_columns() -> None:
    run = CliRunner().invoke(app, BAG)
    assert run.exit_code == 0, run.output
    assert max(map(len, run.stdout.splitlines())) <= 80
    assert "Not advice" in run.stdout
    assert "2026-03-02 14:35" in run.stdout
    assert "19,783.86" in run.stdout


def test_one_coin_is_told_as_one() -> None:
    asked = [*BAG[:3], "--coins", "1", "--net", "12.4", "--net-sd", "0.01", *BAG[13:]]
    said = " ".join(CliRunner().invoke(app, asked).stdout.split())
    for words in (": 1 coin. Not", " the one coin ", "(1 United States silver coin,", "of 1 coin;"):
        assert words in said
    assert "1 coins" not in said


def test_the_command_gives_figures_for_programs() -> None:
    run = CliRunner().invoke(app, [*BAG, "--json"])
    told = json.loads(run.stdout)
    assert CliRunner().invoke(app, [*BAG, "--json"]).stdout == run.stdout
    assert told["bids"][0]["bid"] == pytest.approx(worked_bid.BID, abs=1.0)
    assert told["spot"] == {
        "prices": {"silver": 30.0}, "currency": "USD", "at": "2026-03-02 14:05", "side": "mid",
    }  # fmt: skip
    assert any("Not advice" in said for said in told["said"])


def test_a_lot_whose_metal_has_no_price_is_refused() -> None:
    gold = ["gold=2400" if word == "silver=30" else word for word in BAG]
    run = CliRunner().invoke(app, gold)
    assert run.exit_code == 5
    assert "--spot silver=PRICE" in run.stderr
    run = CliRunner().invoke(app, BAG[:1] + BAG[3:])
    assert run.exit_code == 2


@pytest.mark.parametrize(
    ("options", "code", "said"),
    [
        (["--measured", "3000"], 5, "more cannot be measured"),
        (["--departing", "200"], 5, "no more than were measured"),
        (["--net", "-5"], 5, "must weigh something"),
        (["--net", "61700"], 5, "weigh 17,500.0 to 25,500.0 g, however worn"),
        (["--net", "2000"], 5, "at the weight and its unit"),
        (["--tests", "tests.csv"], 2, "give the sheet too"),
        (["--type", "us-cent-1909"], 2, "one --type is needed"),
        (["--spread", "120"], 5, "--spread is 120; it must lie between 0 and 90 per cent"),
        (["--spread", "-5"], 5, "--spread is -5"),
        (["--spot", "Silver=31"], 5, "--spot names silver twice"),
        (["--pdf", "/no/such/folder/x.pdf"], 6, "free the place or choose another"),
    ],
)
def test_what_cannot_be_is_refused_with_what_to_do(
    options: list[str], code: int, said: str
) -> None:
    run = CliRunner().invoke(app, [*BAG, *options])
    assert run.exit_code == code, run.output
    assert said in " ".join(run.output.replace("│", " ").split())


@pytest.mark.parametrize(
    ("net", "reason"), [("25400", "a bag not taken off"), ("22000", "more wear")]
)
def test_a_weight_that_does_not_fit_the_count_is_told_before_the_bid(net: str, reason: str) -> None:
    asked = [*BAG, "--net", net]
    said = " ".join(CliRunner().invoke(app, asked).stdout.split())
    assert reason in said[said.index("WARNING: 2,000 coins") : said.index("Highest sensible bid")]
    (warning,) = json.loads(CliRunner().invoke(app, [*asked, "--json"]).stdout)["warnings"]
    assert warning in said
    assert json.loads(CliRunner().invoke(app, [*BAG, "--json"]).stdout)["warnings"] == []


def test_a_sheet_and_half_a_bag_is_refused() -> None:
    run = CliRunner().invoke(
        app, ["offer", "sample_lots/all_honest.csv", *BAG[13:], "--coins", "9"]
    )
    assert run.exit_code == 2
    assert "go together" in " ".join(run.output.replace("│", " ").split())


def test_an_offer_for_a_screened_lot_sets_the_set_asides_apart(tmp_path: Path) -> None:
    """Seven casts of the right alloy keep their melt; a density counts; one lot alone."""
    tests = tmp_path / "tests.csv"
    tests.write_text("coin,test,value,unit\n1,water density,10.3,g/cm3\n", encoding="utf-8")
    asked = ["offer", "sample_lots/two_parcels.csv", "--lot", "K-01", *BAG[13:], "--json"]
    run = CliRunner().invoke(app, [*asked, "--tests", str(tests)])
    assert run.exit_code == 0, run.output
    told = json.loads(run.stdout)
    whole, without = told["bids"]
    assert whole["coins"] == 60 == sum(told["advised"].values())
    assert without["coins"] == 60 - told["set_aside"] < 60
    assert without["bid"] < whole["bid"] < whole["melt_mean"] < whole["melt_claimed"]
    assert whole["bid_bad_case"] < whole["bid"]
    assert told["kept"]["cast"] == pytest.approx(1.0)
    assert told["kept"]["same_size"] < 0.5
    assert told["kept"]["lighter_alloy"] == pytest.approx(worked_bid.KEPT_BY_800, abs=0.12)
    (limits,) = told["limits"]
    assert 0 < limits["pay_below"] <= limits["refuse_above"] <= 1
    assert told["bid_if"]["spot_down"] == pytest.approx(0.98 * (whole["bid"] + 450) - 450, rel=1e-3)
    assert told["bid_if"]["double_prior"] <= told["bid_if"]["half_prior"]
    assert told["by_face"] is None
