"""``lotscreen bag``: a bag or roll weighed whole; count, wear, what could hide."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from lotscreen.cli.check_option import parsed_checks
from lotscreen.cli.common import emit, guarded
from lotscreen.cli.plan import type_of_text
from lotscreen.words import say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from lotscreen.instruments import ScaleBelief
    from lotscreen.lot.bag import BagStatement

_PERCENT = 100.0


def bag_command(
    coin_type: Annotated[str, typer.Option("--type", metavar="TYPE", help=say("bag.cli.type"))],
    net: Annotated[
        float | None, typer.Option("--net", metavar="G", help=say("bag.cli.net_weight"))
    ] = None,
    gross: Annotated[
        float | None, typer.Option("--gross", metavar="G", help=say("bag.cli.gross"))
    ] = None,
    tare: Annotated[
        float | None, typer.Option("--tare", metavar="G", help=say("bag.cli.tare"))
    ] = None,
    count: Annotated[
        int | None, typer.Option("--count", metavar="N", help=say("bag.cli.count"))
    ] = None,
    step: Annotated[float, typer.Option("--step", metavar="G", help=say("bag.cli.step"))] = 1.0,
    check: Annotated[
        list[str] | None,
        typer.Option("--check", metavar="STATED=READ", help=say("bag.cli.check")),
    ] = None,
    loss: Annotated[
        float | None, typer.Option("--loss", metavar="PERCENT", help=say("bag.cli.loss"))
    ] = None,
    loss_sd: Annotated[
        float | None, typer.Option("--loss-sd", metavar="PERCENT", help=say("bag.cli.loss_sd"))
    ] = None,
    lighter: Annotated[
        float, typer.Option("--lighter", metavar="PERCENT", help=say("bag.cli.lighter"))
    ] = 17.5,
    as_json: Annotated[bool, typer.Option("--json", help=say("bag.cli.json"))] = False,
) -> None:
    """Say what the weight can say; the help text is in the table of words."""
    checks = parsed_checks(check or [])
    weight = _net(net, gross, tare)
    if (loss is None) != (loss_sd is None):
        raise typer.BadParameter(say("bag.cli.loss_alone"))
    with guarded():
        # imported here, because the records bring NumPy and pandas with them
        from lotscreen.instruments import reading_sd
        from lotscreen.lot.bag import BagWeighing, bag_statement, wear_of_type, wear_stated
        from lotscreen.lot.bag_words import bag_sentences
        from lotscreen.records import Quantity
        from lotscreen.settings import Settings

        known = type_of_text(coin_type)
        scale = _scale(checks, step)
        sd = reading_sd(Quantity.WEIGHT, step, Settings())
        weighing = BagWeighing(known, weight, sd, scale.sd, count, scale.error)
        belief = (
            wear_of_type(known)
            if loss is None or loss_sd is None
            else wear_stated(loss / _PERCENT, loss_sd / _PERCENT)
        )
        found = bag_statement(weighing, belief, lighter / _PERCENT)
        said = bag_sentences(found, gross is not None, scale.from_checks)
        emit(_json(found, said) if as_json else _text(said))


def _net(net: float | None, gross: float | None, tare: float | None) -> float:
    """The net weight: as given, or gross less tare."""
    if net is not None:
        if gross is not None or tare is not None:
            raise typer.BadParameter(say("bag.cli.weight_twice"))
        return net
    if gross is None or tare is None:
        raise typer.BadParameter(say("bag.cli.weight_missing"))
    if not 0.0 <= tare < gross:
        raise typer.BadParameter(say("bag.cli.tare_alone", tare=tare, gross=gross))
    return gross - tare


def _scale(checks: Sequence[tuple[float, float]], step: float) -> ScaleBelief:
    from lotscreen.instruments import CheckReading, scale_belief
    from lotscreen.settings import Settings

    settings = Settings()
    tolerance = settings.check_tolerance_steps * step
    readings = [CheckReading("", n, a, b, step, tolerance) for n, (a, b) in enumerate(checks)]
    return scale_belief(readings, settings)


def _json(found: BagStatement, said: Sequence[str]) -> str:
    import json

    from lotscreen.lot.bag import ounces

    weighing, held = found.weighing, ounces(found.weighing)
    told: dict[str, Any] = {
        "schema": "1.0",
        "type": weighing.coin_type.key,
        "net_g": weighing.net_g,
        "count": weighing.count,
        "counts_95": list(found.counts),
        "likeliest_count": found.likeliest,
        "loss_percent_95": [_PERCENT * loss for loss in found.losses],
        "expected_g_95": None if found.expected_g is None else list(found.expected_g),
        "loss_percent_if_count": None
        if found.loss_if_count is None
        else _PERCENT * found.loss_if_count[0],
        "rate": found.rate,
        "hidden_percent_95": None if found.hidden_share is None else _PERCENT * found.hidden_share,
        "fine_ounces": None if held is None else held.fine,
        "said": list(said),
    }
    return json.dumps(told, indent=1, ensure_ascii=False) + "\n"


def _text(said: Sequence[str]) -> str:
    from lotscreen.report.screen_lines import wrap

    return "\n".join(line for sentence in said for line in wrap(sentence)) + "\n"
