"""``lotscreen tray build``: trays from a register, with sheets, key and custody list."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lotscreen.cli.common import emit, guarded, progress
from lotscreen.cli.exit_codes import ExitCode
from lotscreen.words import say

if TYPE_CHECKING:
    from lotscreen.tray.building import Wish
    from lotscreen.tray.built import BuiltSet
    from lotscreen.tray.compose import Order
    from lotscreen.tray.purpose import Purpose

_PERCENT = 100.0
_HISTORY_SUFFIX = ".history.csv"


def build_command(
    register: Annotated[
        Path | None, typer.Argument(metavar="REGISTER", help=say("tray_building.cli.register"))
    ] = None,
    purpose: Annotated[
        str, typer.Option("--purpose", metavar="WHAT", help=say("tray_building.cli.purpose"))
    ] = "learning",
    trays: Annotated[
        int, typer.Option("--trays", metavar="N", min=1, help=say("tray_building.cli.trays"))
    ] = 2,
    name: Annotated[
        str, typer.Option("--name", metavar="NAME", help=say("tray_building.cli.name"))
    ] = "A",
    trainees: Annotated[
        str, typer.Option("--trainees", metavar="CODES", help=say("tray_building.cli.trainees"))
    ] = "",
    own: Annotated[
        str, typer.Option("--for", metavar="CODE", help=say("tray_building.cli.own"))
    ] = "",
    answers: Annotated[
        list[Path] | None,
        typer.Option("--answers", metavar="FILE", help=say("tray_building.cli.answers")),
    ] = None,
    key: Annotated[
        list[Path] | None, typer.Option("--key", metavar="FILE", help=say("tray_building.cli.key"))
    ] = None,
    empty: Annotated[
        float | None, typer.Option("--empty", metavar="PERCENT", min=0, max=100,
                                   help=say("tray_building.cli.empty")),
    ] = None,
    unscored: Annotated[
        int | None, typer.Option("--not-tellable", metavar="N", min=0, max=5,
                                 help=say("tray_building.cli.unscored")),
    ] = None,
    adjust: Annotated[
        list[str] | None,
        typer.Option("--adjust", metavar="CODE=WHAT", help=say("tray_building.cli.adjust")),
    ] = None,
    keep_until: Annotated[
        str, typer.Option("--keep-until", metavar="DATE", help=say("tray_building.cli.keep_until"))
    ] = "",
    seed: Annotated[
        int, typer.Option("--seed", metavar="N", min=0, help=say("tray_building.cli.seed"))
    ] = 0,
    history: Annotated[
        Path | None,
        typer.Option("--history", metavar="FILE", help=say("tray_building.cli.history")),
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FOLDER", help=say("tray_building.cli.out"))
    ] = None,
    desk: Annotated[bool, typer.Option("--desk", help=say("tray_building.cli.desk"))] = False,
) -> None:  # fmt: skip
    """Build a set of trays; the help text is in the table of words."""
    if desk == (register is not None):
        raise typer.BadParameter(say("tray_building.cli.one_source"))
    if own and not (answers and key):
        raise typer.BadParameter(say("tray_building.cli.for_needs"))
    with guarded():
        # imported here, so that --help and a mistyped option answer at once
        from lotscreen.tray.built import set_name
        from lotscreen.tray.compose import Order
        from lotscreen.tray.missed import missed_weights

        told = missed_weights(own.upper(), answers or [], key or []) if own else None
        kind = _purpose(purpose)
        order = Order(
            name=set_name(name), purpose=kind, trays=trays, seed=seed,
            weights={} if told is None else told.weights,
            empty_share=kind.empty_share if empty is None else empty / _PERCENT,
            unscored=kind.unscored if unscored is None else unscored,
        )  # fmt: skip
        said = () if told is None else told.sentences()
        wish = _wish(own or trainees, adjust or [], said, keep_until)
        _build(register, order, wish, history, out)


def _build(
    register: Path | None, order: Order, wish: Wish, history: Path | None, out: Path | None
) -> None:
    from lotscreen.report.tray.set_files import write_set
    from lotscreen.settings import Settings
    from lotscreen.standards import load_standards
    from lotscreen.tray.building import build_set
    from lotscreen.tray.history import load_history, refuse_other_set, save_history

    kept = history or _history_beside(register)
    folder = out or Path("trays") / order.name
    with progress() as tell:
        before = load_history(kept)
        built = build_set(
            register, order, wish, before, load_standards(), Settings(), progress=tell
        )
        there = refuse_other_set(before, built)
        tell(say("tray_building.progress.writing"))
        again = write_set(built, folder)
    if not there:
        save_history(kept, before, built)
    emit(_told(built, folder, kept, again))
    if built.doubts:
        raise typer.Exit(ExitCode.DONE_WITH_DOUBTS)


def _history_beside(register: Path | None) -> Path:
    """The history lies beside the register, that of the desk in the folder of the trays."""
    if register is None:
        return Path("trays") / f"desk{_HISTORY_SUFFIX}"
    return register.with_name(register.stem + _HISTORY_SUFFIX)


def _wish(codes: str, adjust: list[str], practised: tuple[str, ...], keep_until: str) -> Wish:
    from lotscreen.tray.building import Wish
    from lotscreen.tray.built import adjustments, retention_date, trainee_codes

    trainees = trainee_codes(codes)
    adjusted = adjustments(adjust, trainees)
    return Wish(trainees, adjusted, practised, retention_date(keep_until))


def _purpose(text: str) -> Purpose:
    from lotscreen.records import SettingsError
    from lotscreen.tray.purpose import PURPOSES

    if text not in PURPOSES:
        known = ", ".join(PURPOSES)
        raise SettingsError(say("tray_building.codes.purpose", value=text, known=known))
    return PURPOSES[text]


def _told(built: BuiltSet, folder: Path, history: Path, again: bool) -> str:
    from lotscreen.report.screen_lines import wrap
    from lotscreen.tray.told import built_sentences

    lines = [line for said in built_sentences(built) for line in wrap(said)]
    key = "again" if again else "written"
    where = [say(f"tray_building.says.{key}", folder=folder)]
    where.append(say("tray_building.says.history", file=history))
    return "\n".join([*lines, *(line for said in where for line in wrap(said))]) + "\n"
