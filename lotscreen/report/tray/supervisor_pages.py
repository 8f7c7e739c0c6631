"""The supervisor's report: who practises what next, on the first page; then the marks, the
pieces, the pass rule and the stages."""

from __future__ import annotations

from lotscreen.report.blocks import (
    Block,
    Column,
    Heading,
    Items,
    Paragraph,
    Table,
    Together,
)
from lotscreen.report.tray.agreement_pages import agreement_blocks
from lotscreen.report.tray.fooled_map import fooled_maps
from lotscreen.report.tray.forest import forest
from lotscreen.report.tray.house_words import House, fairness
from lotscreen.report.tray.skill_map import skill_map
from lotscreen.report.tray.stage_pages import stage_blocks
from lotscreen.tray.marking.marked import Marked
from lotscreen.tray.marking.pieces import agreement_rank
from lotscreen.tray.marking.rule_words import precision_words, rule_words
from lotscreen.tray.marking.summary import (
    class_words,
    counts_words,
    doubt_lines,
    left_out_lines,
    next_table,
    one_tray_words,
    rank_words,
)
from lotscreen.tray.marking.wording import (
    count,
    fooling_words,
    in_words,
    number,
    place_of,
    suspect_words,
)
from lotscreen.words import phrase, say, table

_MOST_PIECES = 20
_MOST_LEFT_OUT = 60


def supervisor_blocks(marked: Marked, house: House) -> list[Block]:
    """All blocks of the supervisor's report."""
    return [
        *_first(marked),
        *_marks(marked),
        *_pieces(marked),
        *_rule(marked),
        *stage_blocks(marked),
        *agreement_blocks(marked),
        *_kinds(marked),
        *_rows(marked),
        *fairness(house, rights=False),
        Heading(phrase("tray_marking.page.method")),
        Items(tuple(table("tray_marking")["page"]["how"]), small=True),
    ]


def _first(marked: Marked) -> list[Block]:
    grid = marked.grid
    suspects = marked.pieces.suspect
    names = ", ".join(str(grid.pieces["piece"].iloc[piece]) for piece in suspects)
    alerts = one_tray_words(marked)
    if suspects:
        alerts.append(say("tray_marking.supervisor.first_key", pieces=names))
    heads = table("tray_marking")["columns"]["next"]
    columns = (Column(heads[0]), Column(heads[1], share=1), Column(heads[2], share=1))
    lead = say("tray_marking.supervisor.next_lead", people=len(grid.people),
               trays=len(grid.trays), answers=len(grid.person))  # fmt: skip
    return [
        Heading(phrase("tray_marking.supervisor.next_title"), level=1),
        Paragraph(lead),
        *(Paragraph(text, "alert") for text in alerts),
        Table(columns, tuple(next_table(marked)), phrase("tray_marking.alt.next")),
        Paragraph(rank_words(marked)),
        *(Paragraph(text) for text in class_words(marked)),
        Paragraph(counts_words(marked), "note"),
    ]


def _marks(marked: Marked) -> list[Block]:
    heads = table("tray_marking")["columns"]["marks"]
    rows = tuple(
        (p.code, in_words(p), f"{count(p.hits)}/{p.of_false}", f"{count(p.alarms)}/{p.of_honest}",
         _span(p.skill.value, p.skill.low, p.skill.high),
         _span(p.line.value, p.line.low, p.line.high),
         _span(p.area.value, p.area.low, p.area.high), number(p.pace.median.value, 0))
        for p in marked.people
    )  # fmt: skip
    columns = (Column(heads[0]), Column(heads[1], share=1),
               *(Column(head, "right") for head in heads[2:]))  # fmt: skip
    of_false = max(p.of_false for p in marked.people)
    of_honest = max(p.of_honest for p in marked.people)
    precision: list[Block] = []
    if of_false and of_honest:
        precision.append(Paragraph(precision_words(of_false, of_honest, marked.rule), "note"))
    return [
        Heading(phrase("tray_marking.page.marks"), level=1, new_page=True),
        Paragraph(phrase("tray_marking.page.marks_lead"), "intro"),
        Table(columns, rows, phrase("tray_marking.alt.marks"), small=True),
        *precision,
        forest(marked),
        Together((Heading(phrase("tray_marking.page.map")), skill_map(marked))),
    ]


def _span(value: float, low: float, high: float) -> str:
    if low != low:
        return number(value)
    return say("tray_marking.page.value_span", value=number(value), low=number(low),
               high=number(high))  # fmt: skip


def _pieces(marked: Marked) -> list[Block]:
    told = [suspect_words(marked, piece) for piece in marked.pieces.suspect]
    told += [fooling_words(marked, piece) for piece in marked.pieces.fooling]
    rank = agreement_rank(marked.pieces, marked.grid.pieces["difficulty"].to_numpy(dtype=float))
    notes = [phrase("tray_marking.page.pieces_note")]
    if rank == rank:
        notes.append(say("tray_marking.page.difficulty", rank=number(rank)))
    return [
        Heading(phrase("tray_marking.page.pieces"), level=1, new_page=True),
        Items(tuple(told or [phrase("tray_marking.page.no_piece")])),
        *fooled_maps(marked),
        Paragraph(" ".join(notes), "note"),
        _piece_table(marked),
    ]


def _piece_table(marked: Marked) -> Table:
    """The pieces that fooled most, the most first."""
    marks = marked.pieces
    order = sorted(range(len(marks.fooled)), key=lambda n: (-marks.key_doubt[n], -marks.fooled[n]))
    order = [n for n in order if n in marks.suspect] + sorted(
        (n for n in order if n not in marks.suspect), key=lambda n: -marks.fooled[n]
    )
    heads = table("tray_marking")["columns"]["pieces"]
    rows = []
    for piece in order[:_MOST_PIECES]:
        tray, cell = place_of(marked, piece)
        row = marked.grid.pieces.iloc[piece]
        status = phrase(f"tray_marking.status.{'not_honest' if row['false'] else 'honest'}")
        span = say("tray_marking.page.span", low=number(100 * marks.low[piece], 0),
                   high=number(100 * marks.high[piece], 0))  # fmt: skip
        rows.append(
            (str(row["piece"]), f"{tray} {cell}", str(row["kind"]), status,
             f"{count(marks.fooled[piece])}/{count(marks.met[piece])}", span,
             number(marks.expected[piece], 1), number(marks.p_adjusted[piece], 3),
             number(100 * marks.key_doubt[piece], 0))
        )  # fmt: skip
    columns = (Column(heads[0]), Column(heads[1]), Column(heads[2], share=1), Column(heads[3]),
               *(Column(head, "right") for head in heads[4:]))  # fmt: skip
    return Table(columns, tuple(rows), phrase("tray_marking.alt.pieces"), small=True)


def _rule(marked: Marked) -> list[Block]:
    if marked.rule is None:
        return [
            Heading(phrase("tray_marking.page.rule")),
            Paragraph(phrase("tray_marking.pass.none")),
        ]
    heads = table("tray_marking")["columns"]["verdicts"]
    rows = tuple(
        (p.code, f"{count(p.hits)}/{p.of_false}", f"{count(p.alarms)}/{p.of_honest}",
         phrase("tray_marking.pass.short_"
                + marked.rule.verdict(p.hits, p.of_false, p.alarms, p.of_honest)))
        for p in marked.people
    )  # fmt: skip
    columns = (Column(heads[0]), Column(heads[1], "right"), Column(heads[2], "right"),
               Column(heads[3], share=1))  # fmt: skip
    return [
        Heading(phrase("tray_marking.page.rule"), level=1, new_page=True),
        Items(tuple(rule_words(marked.rule))),
        Table(columns, rows, phrase("tray_marking.alt.verdicts")),
        Paragraph(phrase("tray_marking.pass.key_first"), "note"),
    ]


def _kinds(marked: Marked) -> list[Block]:
    """Wrong answers by trainee and kind."""
    kinds = list(dict.fromkeys((k.kind, k.false) for p in marked.people for k in p.kinds))
    heads = table("tray_marking")["columns"]["by_kind"]
    rows = []
    for kind, false in kinds:
        found = {k.person: k for p in marked.people for k in p.kinds
                 if (k.kind, k.false) == (kind, false)}  # fmt: skip
        cells = [
            f"{count(found[n].wrong)}/{found[n].met}" if n in found else "–"
            for n in range(len(marked.people))
        ]
        rows.append((kind, *cells))
    columns = (Column(heads[0], share=1),
               *(Column(p.code, "right") for p in marked.people))  # fmt: skip
    return [
        Heading(phrase("tray_marking.page.by_kind")),
        Table(columns, tuple(rows), phrase("tray_marking.alt.by_kind"), small=True),
    ]


def _rows(marked: Marked) -> list[Block]:
    blocks: list[Block] = []
    for key, lines in (
        ("left_out_head", left_out_lines(marked, _MOST_LEFT_OUT)),
        ("doubts_head", doubt_lines(marked, _MOST_LEFT_OUT)),
    ):
        if lines:
            blocks += [
                Heading(phrase(f"tray_marking.supervisor.{key}")),
                Items(tuple(lines), small=True),
            ]
    return blocks
