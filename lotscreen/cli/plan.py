"""``lotscreen plan``: what to draw, when to stop and what is then promised, before looking."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lotscreen import __version__
from lotscreen.cli.common import emit, guarded, progress
from lotscreen.words import say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from lotscreen.sequential.group_power import Wearing
    from lotscreen.sequential.sampling_plan import SamplingPlan
    from lotscreen.standards import CoinType

    Sections = Sequence[tuple[str, Sequence[str]]]

_PAGE = 80
_PERCENT = 100.0
_BENCH_SCALE_STEP_G = 0.1
_MOST_TOLERATED = 0.005
_TOLERATED_OF_BAD = 0.1


def plan_command(
    coins: Annotated[int, typer.Option("--coins", metavar="N", help=say("plan.cli.coins"))],
    share: Annotated[
        float, typer.Option("--share", metavar="PERCENT", help=say("plan.cli.share"))
    ] = 3.0,
    sure: Annotated[
        float, typer.Option("--sure", metavar="PERCENT", help=say("plan.cli.sure"))
    ] = 95.0,
    notice: Annotated[
        float, typer.Option("--notice", metavar="PERCENT", help=say("plan.cli.notice"))
    ] = 95.0,
    tolerate: Annotated[
        float | None, typer.Option("--tolerate", metavar="PERCENT", help=say("plan.cli.tolerate"))
    ] = None,
    alarms: Annotated[
        float, typer.Option("--alarms", metavar="PERCENT", help=say("plan.cli.alarms"))
    ] = 0.3,
    method: Annotated[
        str, typer.Option("--method", metavar="NAME", help=say("plan.cli.method"))
    ] = "any time",
    allowed: Annotated[
        int, typer.Option("--allowed", metavar="C", help=say("plan.cli.allowed"))
    ] = 0,
    most: Annotated[int, typer.Option("--most", metavar="N", help=say("plan.cli.most"))] = 0,
    rolls_of: Annotated[
        int, typer.Option("--rolls-of", metavar="N", help=say("plan.cli.rolls_of"))
    ] = 0,
    batch: Annotated[int, typer.Option("--batch", metavar="N", help=say("plan.cli.batch"))] = 20,
    seed: Annotated[int, typer.Option("--seed", metavar="N", help=say("plan.cli.seed"))] = 0,
    coin_type: Annotated[
        str, typer.Option("--type", metavar="TYPE", help=say("plan.cli.type"))
    ] = "",
    loss: Annotated[
        float | None, typer.Option("--loss", metavar="PERCENT", help=say("plan.cli.loss"))
    ] = None,
    minutes: Annotated[
        float | None, typer.Option("--minutes", metavar="M", help=say("plan.cli.minutes"))
    ] = None,
    seconds: Annotated[
        float, typer.Option("--seconds", metavar="S", help=say("plan.cli.seconds"))
    ] = 8.0,
    seconds_all: Annotated[
        float, typer.Option("--seconds-all", metavar="S", help=say("plan.cli.seconds_all"))
    ] = 28.0,
    standard_limit: Annotated[
        float | None,
        typer.Option("--standard-limit", metavar="PERCENT", help=say("plan.cli.standard_limit")),
    ] = None,
    seen: Annotated[bool, typer.Option("--seen", help=say("plan.cli.seen"))] = False,
    step: Annotated[
        float, typer.Option("--step", metavar="G", help=say("plan.cli.seen_step"))
    ] = 0.01,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help=say("plan.cli.out"))
    ] = None,
    pdf: Annotated[
        Path | None, typer.Option("--pdf", metavar="FILE", help=say("plan.cli.pdf"))
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help=say("plan.cli.json"))] = False,
) -> None:
    """Work out the plan, print it in words with its draw list; the help is in the words."""
    if seen and not coin_type:
        raise typer.BadParameter(say("plan.cli.seen_needs_type"))
    with guarded():
        # imported here, because the records bring NumPy and pandas with them
        from lotscreen.sequential.plan_beside import Circumstances
        from lotscreen.sequential.plan_words import plan_sections
        from lotscreen.sequential.sampling_plan import SamplingPlan

        known = type_of_text(coin_type) if coin_type else None
        tolerated = min(_MOST_TOLERATED * _PERCENT, _TOLERATED_OF_BAD * share)
        plan = SamplingPlan(
            lot_coins=coins,
            bad_share=_share(share),
            sure=_share(sure),
            notice=_share(notice),
            alarm_rate=_share(alarms),
            tolerated_share=_share(tolerated if tolerate is None else tolerate),
            method=method,
            allowed=allowed,
            roll_coins=rolls_of,
            batch_coins=batch,
            seed=seed,
            seconds_per_coin=seconds,
            type_key="" if known is None else known.key,
            most_coins=most,
        )
        at = Circumstances(
            minutes=minutes,
            seconds_all=seconds_all,
            coins=None if known is None else _wearing(known, loss),
            others={} if known is None else _others(known),
            limit_percent=standard_limit,
        )
        sections = plan_sections(plan, at)
        if seen and known is not None and at.coins is not None:
            said = _seen(known, at.coins.mean_loss, step)
            sections.append((say("plan.says.seen"), said))
        if out is not None:
            _write(plan, out)
        if pdf is not None:
            # typesetting and drawing are loaded where they are asked for
            from lotscreen.report.plan_pdf import write_plan_pdf

            write_plan_pdf(plan, sections, __version__, pdf)
        emit(_json(plan, sections) if as_json else _text(plan, sections))


def _seen(known: CoinType, mean_loss: float, step_g: float) -> list[str]:
    from lotscreen.foresight import foresee, foresight_sentences
    from lotscreen.settings import Settings
    from lotscreen.standards import load_standards

    with progress() as tell:
        found = foresee(
            known, load_standards(), Settings(), mean_loss=mean_loss, step_g=step_g, progress=tell
        )
    return foresight_sentences(found)


def _share(percent: float) -> float:
    """A share from per cent, without the last digits that the division makes."""
    return round(percent / _PERCENT, 12)


def type_of_text(text: str) -> CoinType:
    """The standard of that key, or that words lead to; StandardsError where none does."""
    from lotscreen.records import StandardsError
    from lotscreen.standards import load_standards

    standards = load_standards()
    if text in {known.key for known in standards.types}:
        return standards.get(text)
    found = standards.resolve(text, None)
    if not found.key:
        raise StandardsError(say("plan.cli.no_type", text=text, note=found.note))
    return standards.get(found.key)


def _wearing(known: CoinType, loss_percent: float | None) -> Wearing:
    """The coins of a type: mean loss as said, or by the type's allowance at its middle date."""
    from lotscreen.instruments import reading_sd
    from lotscreen.records import Quantity
    from lotscreen.sequential.group_power import Wearing
    from lotscreen.settings import Settings

    last = known.last_year or known.circulation_end
    years = max(known.circulation_end - (known.first_year + last) / 2, 1.0)
    loss = known.wear_per_year * years if loss_percent is None else loss_percent / _PERCENT
    sd = reading_sd(Quantity.WEIGHT, _BENCH_SCALE_STEP_G, Settings())
    return Wearing(known.weight_g, loss, sd)


def _others(known: CoinType) -> dict[str, Wearing]:
    """Other denominations of the same state, metal and fineness in the same years, by name,
    each with its own allowance; the heaviest first."""
    from lotscreen.standards import load_standards

    last = known.last_year or known.circulation_end
    beside = [
        other
        for other in load_standards().types
        if (other.state, other.metal, other.fineness) == (known.state, known.metal, known.fineness)
        and other.unit != known.unit
        and other.first_year <= last
        and (other.last_year or other.circulation_end) > known.first_year
    ]
    kept = {other.unit: other for other in sorted(beside, key=lambda other: other.first_year)}
    heaviest = sorted(kept.values(), key=lambda other: -other.weight_g)
    return {other.unit: _wearing(other, None) for other in heaviest}


def _write(plan: SamplingPlan, path: Path) -> None:
    """Write the plan; the same plan again is left as it is, another is not overwritten."""
    from lotscreen.records import OutputError
    from lotscreen.sequential.sampling_plan import plan_text
    from lotscreen.whole_file import write_whole

    text = plan_text(plan)
    try:
        if path.exists():
            if path.read_text(encoding="utf-8") == text:
                return
            raise OutputError(say("plan.cli.exists", file=path.name))
        write_whole(path, text.encode("utf-8"))
    except OSError as error:
        raise OutputError(say("cli.cannot_write", path=path, reason=error.strerror)) from error


def _json(plan: SamplingPlan, sections: Sections) -> str:
    import json
    from dataclasses import asdict

    from lotscreen.sequential.draw import draw_order
    from lotscreen.sequential.plan_averages import average_coins
    from lotscreen.sequential.sampling_plan import SCHEMA, figures

    told: dict[str, Any] = {
        "schema": SCHEMA,
        "plan": figures(plan),
        "digest": plan.digest(),
        "said": [{"heading": h, "sentences": s} for h, s in sections],
        "average_coins": [
            {name: _tenths(value) for name, value in asdict(row).items()}
            for row in average_coins(plan)
        ],
        "draw": draw_order(plan.lot_coins, plan.seed).tolist(),
    }
    return json.dumps(told, indent=1, ensure_ascii=False) + "\n"


def _tenths(value: str | float) -> str | float:
    return value if isinstance(value, str) else round(value, 1)


def _text(plan: SamplingPlan, sections: Sections) -> str:
    from lotscreen.report.screen_lines import wrap
    from lotscreen.sequential.plan_averages import average_lines
    from lotscreen.sequential.plan_words import first_accepting

    lines = []
    for heading, sentences in sections:
        lines += [heading]
        for sentence in sentences:
            lines += _indented(sentence)
        lines.append("")
    lines += [say("plan.average.head"), *average_lines(plan)]
    lines += [*_indented(say("plan.average.note")), ""]
    shown = first_accepting(plan.lines())
    lines += _draw_list(plan, shown)
    # a small screen shows only the end: what to do stands there too
    lines += ["", *wrap(sections[0][1][0])]
    return "\n".join(lines) + "\n"


def _draw_list(plan: SamplingPlan, coins: int) -> list[str]:
    """The batches that hold the first ``coins`` coins of the draw, by roll and position."""
    from lotscreen.sequential.draw import batches, draw_order, place_of

    order = draw_order(plan.lot_coins, plan.seed)
    whole = -(-coins // plan.batch_coins) * plan.batch_coins
    lines = [say("plan.list.head", seed=plan.seed, coins=min(whole, plan.lot_coins))]
    for number, batch in enumerate(batches(order[:whole], plan.batch_coins), 1):
        places = [place_of(int(n), plan.roll_coins) for n in batch]
        if plan.roll_coins:
            rolls = dict.fromkeys(place.roll for place in places)
            entries = [
                say(
                    "plan.list.roll",
                    roll=roll,
                    positions=", ".join(str(p.position) for p in places if p.roll == roll),
                )
                for roll in rolls
            ]
        else:
            entries = [str(place.number) for place in places]
        joined = ("; " if plan.roll_coins else ", ").join(entries)
        lines += _indented(say("plan.list.batch", n=number, coins=joined))
    return lines


def _indented(text: str) -> list[str]:
    """``text`` under its heading, lines of at most ``_PAGE`` columns."""
    return textwrap.wrap(
        text, _PAGE, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False
    )
