"""What a bag's weight can say, in sentences."""

from __future__ import annotations

from lotscreen.lot.bag import BagStatement, hidden_by_uncertainty, ounces
from lotscreen.words import say

_Z = 1.959964
_FIRST_SD, _SECOND_SD = 0.002, 0.005
_BAG_TARE_G = (50.0, 150.0)


def bag_sentences(found: BagStatement, tare_known: bool, scale_known: bool) -> list[str]:
    """The weighing, the count, what could hide, ounces, cautions."""
    weighing = found.weighing
    said = [
        say(
            "bag.says.net_weight",
            net=weighing.net_g,
            name=weighing.coin_type.name,
            standard=weighing.coin_type.weight_g,
        )
    ]
    if weighing.count is not None:
        said += _count(found, weighing.count)
    said += [_joint(found), *_hidden(found), *_ounces(found)]
    if scale_known:
        said.append(say("bag.says.scale", error=100 * weighing.scale_error))
    else:
        coins = weighing.scale_sd * found.likeliest
        said.append(say("bag.says.no_scale", width=100 * weighing.scale_sd, coins=coins))
    if not tare_known:
        said.append(_tare(found))
    return said


def _count(found: BagStatement, count: int) -> list[str]:
    weighing, belief = found.weighing, found.belief
    if found.expected_g is None or found.loss_if_count is None or found.rate is None:
        return []
    low, high = found.expected_g
    said = [
        say(
            "bag.says.count",
            count=count,
            low=low,
            high=high,
            loss_low=100 * belief.quantile(0.025),
            loss_high=100 * belief.quantile(0.975),
            stated=belief.stated,
        )
    ]
    loss, sd = found.loss_if_count
    middle = 0.5 * (low + high)
    coin_g = middle / count  # as expected: the weight found is not that of this count
    facts = {
        "loss": 100 * loss,
        "low": 100 * (loss - _Z * sd),
        "high": 100 * (loss + _Z * sd),
        "rate": _rate(found.rate),
        "missing": (middle - weighing.net_g) / coin_g,
        "extra": (weighing.net_g - middle) / coin_g,
        "over": weighing.net_g - middle,
    }
    key = "light" if weighing.net_g < low else "heavy" if weighing.net_g > high else "agrees"
    said.append(say(f"bag.says.{key}", **facts))
    return said


def _rate(rate: float) -> str:
    return say("bag.says.small_lot") if rate < 1e-5 else say("bag.says.rate", n=round(1 / rate))


def _joint(found: BagStatement) -> str:
    return say(
        "bag.says.joint",
        fewest=found.counts[0],
        most=found.counts[1],
        likeliest=found.likeliest,
        loss_low=100 * found.losses[0],
        loss_high=100 * found.losses[1],
        per_coin=100 * found.loss_per_coin,
    )


def _hidden(found: BagStatement) -> list[str]:
    said = []
    lighter, count = found.lighter, found.weighing.count
    if found.hidden_share is not None and count is not None:
        said.append(
            say(
                "bag.says.hidden",
                share=100 * found.hidden_share,
                coins=found.hidden_share * count,
                lighter=100 * lighter,
            )
        )
    own = found.belief.sd
    shares = [hidden_by_uncertainty(sd, lighter) for sd in (_FIRST_SD, _SECOND_SD, own)]
    said.append(
        say(
            "bag.says.hidden_table",
            first=100 * shares[0],
            second=100 * shares[1],
            third=100 * shares[2],
            own=100 * own,
            lighter=100 * lighter,
        )
    )
    return said


def _ounces(found: BagStatement) -> list[str]:
    held = ounces(found.weighing)
    if held is None:
        return []
    said = [say("bag.says.fine", metal=found.weighing.coin_type.fine_metal, fine=held.fine)]
    if held.by_worn is not None:
        said.append(
            say(
                "bag.says.by_face",
                face=held.face,
                worn=held.by_worn,
                struck=held.by_struck,
                per_thousand=held.per_thousand,
            )
        )
    return said


def _tare(found: BagStatement) -> str:
    weighing = found.weighing
    low, high = _BAG_TARE_G
    coin_g = weighing.coin_type.weight_g
    return say(
        "bag.says.tare",
        low=100 * low / weighing.net_g,
        high=100 * high / weighing.net_g,
        coins_low=low / coin_g,
        coins_high=high / coin_g,
    )
