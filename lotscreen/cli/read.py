"""``lotscreen read``: shows how sheets are understood, before anything is judged."""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lotscreen.cli.asking import with_answers
from lotscreen.cli.common import emit, guarded
from lotscreen.cli.exit_codes import ExitCode
from lotscreen.cli.sheet_options import Unit
from lotscreen.words import say

if TYPE_CHECKING:
    from lotscreen.intake import ReadOptions
    from lotscreen.records import Doubt, Intake, TableUnderstood
    from lotscreen.repeats import Repeats

_PAGE = 80
_HEADER_WIDTH, _ROLE_WIDTH = 18, 24
_MOST_LINES = 60
_LONGEST_RAW = 60


def read(
    sheets: Annotated[
        list[Path], typer.Argument(metavar="SHEET...", help=say("intake.read.sheets"))
    ],
    map_file: Annotated[
        Path | None, typer.Option("--map", metavar="FILE", help=say("intake.read.map"))
    ] = None,
    types: Annotated[
        list[str] | None,
        typer.Option("--type", metavar="[ROWS=]TYPE", help=say("intake.read.type")),
    ] = None,
    unit: Unit = None,
    write_map: Annotated[
        Path | None, typer.Option("--write-map", metavar="FILE", help=say("intake.read.write_map"))
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help=say("intake.read.json"))] = False,
) -> None:
    """Show how sheets are understood: table, columns, units, counts, doubts."""
    with guarded():
        # imported here, because reading brings NumPy and pandas with it
        from lotscreen.intake import options_from_words

        options = options_from_words(types or (), map_file, unit)
        intake, studies, options = with_answers(partial(_read, sheets), options)
        told = _json(intake, studies) if as_json else "\n".join(_told(intake, studies)) + "\n"
        emit(told)
        if write_map is not None:
            _write_map(write_map, intake, options)
        if len(intake.left_out) or intake.doubts:
            raise typer.Exit(ExitCode.DONE_WITH_DOUBTS)


def _read(
    sheets: list[Path], options: ReadOptions
) -> tuple[Intake, tuple[Repeats, ...], ReadOptions]:
    """The intake of the sheets with all doubts that need no fit, what repeats say, and the
    options that led to it."""
    from lotscreen.instruments import check_readings
    from lotscreen.intake import read_sheets
    from lotscreen.intake.years import with_year_doubts
    from lotscreen.repeats import with_repeats
    from lotscreen.settings import Settings
    from lotscreen.standards import load_standards

    intake = with_year_doubts(read_sheets(sheets, options), load_standards())
    checks = check_readings(intake.items, intake.readings, Settings())
    return *with_repeats(intake, checks), options


def _write_map(path: Path, intake: Intake, options: ReadOptions) -> None:
    from lotscreen.intake.map_file import map_text
    from lotscreen.records import OutputError
    from lotscreen.whole_file import write_whole

    if path.exists():
        raise OutputError(say("intake.error.map_exists", path=path))
    try:
        write_whole(path, map_text(intake, options).encode("utf-8"))
    except OSError as error:
        reason = error.strerror or error
        raise OutputError(say("cli.cannot_write", path=path, reason=reason)) from error
    print(say("intake.read.map_written", path=path), file=sys.stderr)


def _told(intake: Intake, studies: Sequence[Repeats]) -> Iterator[str]:
    """The lines of the answer, 80 columns wide."""
    several = len(intake.sources) > 1
    for source in intake.sources:
        yield from _wrap(
            say("intake.read.file", file=source.name, rows=source.rows, digest=source.digest[:16])
        )
        for table in intake.tables:
            if table.source_file == source.name:
                yield from _table(table)
        yield ""
    yield from _counts(intake)
    yield from _repeats(studies)
    yield from _corrections(intake)
    yield from _left_out(intake, several)
    yield from _doubts(intake.doubts, several)


def _table(table: TableUnderstood) -> Iterator[str]:
    facts = {"sheet": table.sheet, "first": table.first_row, "last": table.last_row}
    if table.header_row:
        line = say("intake.read.table", header=table.header_row, sign=table.decimal_sign, **facts)
    else:
        line = say("intake.read.table_no_header", sign=table.decimal_sign, **facts)
    yield ""
    yield from _wrap(line, "  ")
    if table.title:
        yield from _wrap(say("intake.read.title", title=table.title), "  ")
    for column in table.columns:
        if not column.role:
            role = say("intake.read.carried")
        elif column.unit:
            name = say(f"intake.role.{column.role}")
            role = say("intake.read.role_unit", role=name, unit=column.unit)
        else:
            role = say("intake.read.role", role=say(f"intake.role.{column.role}"))
        yield from _column(column.header, role, column.why)
    for note in table.notes:
        yield from _wrap(say("intake.read.remark", text=note), "  ")


def _column(header: str, role: str, why: str) -> Iterator[str]:
    """Header, role and reason side by side, each folded in its own width."""
    widths = (_HEADER_WIDTH, _ROLE_WIDTH, _PAGE - 6 - _HEADER_WIDTH - _ROLE_WIDTH)
    folded = [
        textwrap.wrap(text, width, break_on_hyphens=False) or [""]
        for text, width in zip((header, role, why), widths, strict=True)
    ]
    for line in range(max(map(len, folded))):
        cells = [part[line] if line < len(part) else "" for part in folded]
        padded = (f"{cell:<{width}}" for cell, width in zip(cells, widths, strict=True))
        yield ("    " + " ".join(padded)).rstrip()


def _counts(intake: Intake) -> Iterator[str]:
    used, left = len(intake.items), len(intake.left_out)
    yield from _wrap(say("intake.read.counts", read=intake.rows_read, used=used, left=left))
    kinds = intake.items["kind"].value_counts()
    named = [
        say(f"intake.read.{kind}", n=int(kinds[kind]))
        for kind in ("coin", "group", "bag", "check", "reference")
        if kind in kinds.index
    ]
    yield from _wrap(say("intake.read.used", kinds=", ".join(named)), "  ")
    read = intake.readings["quantity"].value_counts(sort=False)
    quantities = [
        say("intake.read.quantity", n=int(n), quantity=say(f"intake.role.{quantity}"))
        for quantity, n in read.items()
    ]
    yield from _wrap(say("intake.read.readings", quantities=", ".join(quantities)), "  ")


def _repeats(studies: Sequence[Repeats]) -> Iterator[str]:
    from lotscreen.repeats import repeat_lines

    if studies:
        yield ""
        yield say("intake.read.repeats")
    for line in repeat_lines(studies):
        yield from _wrap(line, "  ")


def _corrections(intake: Intake) -> Iterator[str]:
    if not len(intake.corrections):
        return
    yield ""
    yield say("intake.read.corrections", n=len(intake.corrections))
    for row in intake.corrections.head(_MOST_LINES).to_dict("records"):
        quantity = say(f"intake.role.{row['quantity']}")
        line = say(
            f"intake.correction.{row['outcome']}",
            coin=row["coin_id"],
            quantity=quantity,
            old=f"{row['old']:.6g}",
            new=f"{row['new']:.6g}",
            person=row["person"] or "?",
        )
        yield from _wrap(line, "  ")
    yield from _more(len(intake.corrections))


def _left_out(intake: Intake, several: bool) -> Iterator[str]:
    if not len(intake.left_out):
        return
    yield ""
    yield say("intake.read.left_out")
    for row in intake.left_out.head(_MOST_LINES).itertuples(index=False):
        place = _place(str(row.source_file), str(row.sheet), int(str(row.row)), several)
        raw = _short(str(row.raw))
        key = "left_out_raw" if raw else "left_out_row"
        line = say(f"intake.read.{key}", place=place, reason=row.reason, raw=raw)
        yield from _wrap(line, "  ")
    yield from _more(len(intake.left_out))


def _doubts(doubts: Sequence[Doubt], several: bool) -> Iterator[str]:
    if not doubts:
        return
    yield ""
    yield from _wrap(say("intake.read.doubts", n=len(doubts)))
    for doubt in doubts[:_MOST_LINES]:
        key = "doubt" if doubt.raw else "doubt_block"
        line = say(
            f"intake.read.{key}{'_proposal' if doubt.proposal else ''}",
            place=_place(doubt.source_file, doubt.sheet, doubt.row, several),
            column=doubt.column,
            raw=_short(doubt.raw),
            proposal=doubt.proposal,
            why=doubt.why,
        )
        yield from _wrap(line, "  ")
    yield from _more(len(doubts))


def _place(file: str, sheet: str, row: int, several: bool) -> str:
    if several:
        return say("intake.read.place_of_file", file=file, sheet=sheet, row=row)
    return say("intake.read.place", sheet=sheet, row=row)


def _more(count: int) -> Iterator[str]:
    if count > _MOST_LINES:
        yield "  " + say("intake.read.more", n=count - _MOST_LINES)


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST_RAW else text[: _LONGEST_RAW - 3] + "..."


def _wrap(text: str, indent: str = "") -> list[str]:
    return textwrap.wrap(
        text,
        _PAGE,
        initial_indent=indent,
        subsequent_indent=indent + "  ",
        break_on_hyphens=False,
    )


def _json(intake: Intake, studies: Sequence[Repeats]) -> str:
    import json
    from dataclasses import asdict

    kinds = intake.items["kind"].value_counts()
    quantities = intake.readings["quantity"].value_counts(sort=False)
    found = {
        "schema": "1.0",
        "rows_read": intake.rows_read,
        "rows_used": len(intake.items),
        "rows_left_out": len(intake.left_out),
        "kinds": {str(kind): int(n) for kind, n in sorted(kinds.items())},
        "readings": {str(quantity): int(n) for quantity, n in quantities.items()},
        "sources": [asdict(source) for source in intake.sources],
        "tables": [asdict(table) for table in intake.tables],
        "repeats": [
            {name: None if value != value else value for name, value in asdict(study).items()}
            for study in studies
        ],
        "corrections": [
            {**row, "old": None if row["old"] != row["old"] else row["old"]}
            for row in intake.corrections.to_dict(orient="records")
        ],
        "dispositions": dict(intake.dispositions),
        "left_out": [
            {**row, "row": int(row["row"])} for row in intake.left_out.to_dict(orient="records")
        ],
        "doubts": [asdict(doubt) for doubt in intake.doubts],
    }
    return json.dumps(found, indent=1, ensure_ascii=False) + "\n"
