"""``lotscreen stop``: coins measured so far and a plan; may one stop now?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lotscreen import __version__
from lotscreen.cli.check_option import parsed_checks
from lotscreen.cli.common import emit, guarded, progress
from lotscreen.cli.sheet_options import Checks, Mapping, SettingsFile, Sheets, Types
from lotscreen.words import say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from lotscreen.sequential.looks import Look
    from lotscreen.sequential.sampling_plan import SamplingPlan
    from lotscreen.stopping import Stop

_LOOKS_SUFFIX = ".looks.jsonl"


def stop_command(
    plan_file: Annotated[Path, typer.Argument(metavar="PLAN", help=say("plan.stop_cli.plan"))],
    sheets: Sheets,
    types: Types = None,
    settings: SettingsFile = None,
    check: Checks = None,
    mapping: Mapping = None,
    fit: Annotated[
        Path | None, typer.Option("--fit", metavar="FILE", help=say("plan.stop_cli.fit"))
    ] = None,
    keep_fit: Annotated[
        Path | None, typer.Option("--keep-fit", metavar="FILE", help=say("plan.stop_cli.keep_fit"))
    ] = None,
    in_order: Annotated[
        bool, typer.Option("--in-order", help=say("plan.stop_cli.in_order"))
    ] = False,
    seen: Annotated[bool, typer.Option("--seen", help=say("plan.stop_cli.seen"))] = False,
    pdf: Annotated[
        Path | None, typer.Option("--pdf", metavar="FILE", help=say("plan.stop_cli.pdf"))
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help=say("plan.stop_cli.json"))] = False,
) -> None:
    """Say what the plan says now; the help text is in the table of words."""
    checks = parsed_checks(check or [])
    with guarded():
        # imported here, so that --help and a mistyped option answer at once
        from lotscreen.fit_file import load_fit, save_fit
        from lotscreen.intake import options_from_words
        from lotscreen.sequential.looks import changes, look_of
        from lotscreen.settings import load_settings
        from lotscreen.stopping import stop

        plan, as_written = _plan(plan_file)
        record = plan_file.with_name(plan_file.stem + _LOOKS_SUFFIX)
        looks = _looks(record)
        with progress() as tell:
            tell(say("screening.reading"))
            found = stop(
                sheets,
                plan,
                frozen=None if fit is None else load_fit(fit),
                settings=load_settings(settings, {}),
                read_options=options_from_words(tuple(types or ()), mapping),
                check=checks,
                in_order=in_order,
                seen=seen,
            )
        if keep_fit is not None:
            save_fit(found.fit, keep_fit)
        changed = [*changes(looks, plan), *([] if as_written else [say("plan.stop.altered")])]
        _record(record, looks, look_of(found.state))
        if pdf is not None:
            # typesetting and drawing are loaded where they are asked for
            from lotscreen.report.plan_pdf import write_stop_pdf

            write_stop_pdf(found, changed, __version__, pdf)
        emit(_json(found, changed) if as_json else _text(found, changed))


def _plan(path: Path) -> tuple[SamplingPlan, bool]:
    from lotscreen.sequential.sampling_plan import plan_from_text

    return plan_from_text(_read(path), path.name)


def _looks(path: Path) -> tuple[Look, ...]:
    from lotscreen.sequential.looks import looks_from_text

    return looks_from_text(_read(path), path.name) if path.exists() else ()


def _read(path: Path) -> str:
    from lotscreen.records import SettingsError

    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise SettingsError(say("plan.file_unreadable", file=path.name, why=error)) from error


def _record(path: Path, looks: Sequence[Look], look: Look) -> None:
    """Add the look to the record beside the plan, unless it is the last one again."""
    from lotscreen.records import OutputError
    from lotscreen.sequential.looks import look_line

    if looks and looks[-1] == look:
        return
    try:
        with path.open("a", encoding="utf-8", newline="\n") as record:
            record.write(look_line(look) + "\n")
    except OSError as error:
        raise OutputError(say("cli.cannot_write", path=path, reason=error.strerror)) from error


def _json(found: Stop, changed: Sequence[str]) -> str:
    import json

    from lotscreen.report.stop_view import stop_sentences
    from lotscreen.sequential.sampling_plan import SCHEMA

    state = found.state
    told: dict[str, Any] = {
        "schema": SCHEMA,
        "decision": state.decision,
        "decided_at": state.decided_at,
        "coins": state.drawn,
        "set_aside_low": state.low,
        "set_aside_high": state.high,
        "bounds": [{"notice": b.bet.notice, "coins": b.coins} for b in state.bounds],
        "next": found.fetch.tolist(),
        "skipped": found.skipped.tolist(),
        "changed": list(changed),
        "said": stop_sentences(found, changed),
    }
    return json.dumps(told, indent=1, ensure_ascii=False) + "\n"


def _text(found: Stop, changed: Sequence[str]) -> str:
    from lotscreen.report.screen_lines import wrap
    from lotscreen.report.stop_view import stop_sentences

    lines = []
    for sentence in stop_sentences(found, changed):
        lines += wrap(sentence)
    return "\n".join(lines) + "\n"
