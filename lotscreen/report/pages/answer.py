"""Page 1 of a lot: the answer in words."""

from __future__ import annotations

from collections.abc import Sequence

from lotscreen.lot.statement import CheckStatement
from lotscreen.records import FindingKind
from lotscreen.report.blocks import Block, Column, Heading, Items, Paragraph, Table
from lotscreen.report.moves import lot_moves
from lotscreen.report.numerals import THIN, counted, fixed, percent, whole
from lotscreen.report.pages.to_do import to_do
from lotscreen.report.printable import sentence
from lotscreen.report.view import DEPARTING, ORDER_OF_FINDINGS, LotView
from lotscreen.words import phrase, say, table

MOST_CHECKS = 6


def build(view: LotView) -> list[Block]:
    """What came in, what was found, what to do next, what this screen cannot see."""
    blocks: list[Block] = [Heading(view.title, level=1, new_page=True)]
    blocks.append(Paragraph(" ".join(_lead(view)), "lead"))
    blocks.extend(Paragraph(sentence(text), "alert") for text in view.statement.alerts)
    blocks.append(Heading(phrase("report.answer.to_do")))
    blocks.append(Items(tuple(to_do(view)), numbered=True))
    blocks.append(Heading(phrase("report.answer.found")))
    blocks.extend(_found(view))
    blocks.append(Heading(phrase("report.answer.came_in")))
    blocks.append(Paragraph(" ".join(_came_in(view))))
    blocks.extend(_checks(view.statement.checks, view.decimals))
    blocks.append(Heading(phrase("report.answer.cannot_see")))
    blocks.append(Items(view.statement.cannot_see))
    return blocks


def _lead(view: LotView) -> list[str]:
    counts = view.statement.counts
    not_judged = counts.get(FindingKind.NOT_JUDGED.value, 0)
    judged = sum(counts.values()) - not_judged
    departing = sum(counts.get(kind, 0) for kind in DEPARTING)
    again = counts.get(FindingKind.RE_MEASURE.value, 0)
    consistent = counts.get(FindingKind.CONSISTENT.value, 0)
    if not judged:
        sentences = []
    elif consistent == judged:
        sentences = [say("report.answer.lead_all_consistent", judged=counted(judged, "coin"))]
    else:
        parts = (("consistent", consistent), ("departing", departing), ("again", again))
        told = "; ".join(
            say(f"report.answer.lead.{name}", n=whole(number)) for name, number in parts if number
        )
        sentences = [say("report.answer.lead.judged", judged=counted(judged, "coin"), told=told)]
    if departing:
        sentences.append(_honest_among(departing, view.statement.expected_honest_set_aside))
        sentences += _q_value(view.statement.largest_q_value)
    if not_judged:
        sentences.append(say("report.answer.not_judged", coins=counted(not_judged, "coin")))
    return sentences


def _honest_among(departing: int, honest: float) -> str:
    if honest < 0.5:
        return phrase("report.answer.probably_none")
    about = min(departing, round(honest))
    sentence = say("report.answer.probably_honest", n=whole(departing), honest=whole(about))
    if about == departing:
        return sentence + " " + phrase("report.answer.probably_all")
    return sentence


def _q_value(largest: float | None) -> list[str]:
    """The rule of Benjamini and Hochberg in a line, beside the expected number."""
    if largest is None:
        return []
    return [say("report_types.q_value", share=percent(100 * largest, 1 if largest >= 0.001 else 2))]


def _found(view: LotView) -> list[Block]:
    kinds = [kind for kind in ORDER_OF_FINDINGS if view.statement.counts.get(kind)]
    columns = (
        Column(phrase("report.answer.column_type"), share=1),
        Column(phrase("report.answer.column_coins"), "right"),
        *(Column(kind, "right") for kind in kinds),
        Column(phrase("report.answer.column_loss"), "right"),
    )
    coins = view.coins
    rows = []
    for key in dict.fromkeys([*(t.type_key for t in view.statement.types), *coins["type_key"]]):
        of_type = coins.loc[coins["type_key"] == key, "finding"]
        known = next((t for t in view.statement.types if t.type_key == key), None)
        name = view.type_name(key) if key else phrase("report.answer.no_standard")
        loss = percent(known.mean_loss_percent) if known else "–"
        found = tuple(whole(int((of_type == kind).sum())) for kind in kinds)
        rows.append((name, whole(len(of_type)), *found, loss))
    blocks: list[Block] = [Table(columns, tuple(rows), phrase("report.answer.table_summary"))]
    ounces = [
        say("report.answer.fine_ounces", ounces=fixed(amount, 2), metal=metal)
        for metal, amount in view.statement.fine_ounces.items()
    ]
    if ounces:
        blocks.append(Paragraph(say("report.answer.fine", ounces=", ".join(ounces))))
    firmness = lot_moves(view.screening, view.lot)
    if firmness:
        blocks.append(Paragraph(" ".join(firmness)))
    return blocks


def _came_in(view: LotView) -> list[str]:
    told = view.statement
    files = ", ".join(dict.fromkeys(view.coins["source_file"]))
    doubts = (
        say("report.answer.doubts", cells=counted(told.doubts, "cell"))
        if told.doubts
        else phrase("report.answer.no_doubts")
    )
    used = {
        "coin": told.coins, "group": told.groups, "check": told.check_rows,
        "reference": told.reference_rows,
    }  # fmt: skip
    read = say(
        "report.answer.read", rows=counted(told.rows_read, "row"), files=files,
        used=whole(told.rows_read - told.left_out), left_out=whole(told.left_out),
        parts=", ".join(counted(n, noun) for noun, n in used.items() if n or noun == "coin"),
    )  # fmt: skip
    with_others = view.screening.fitted_with_others
    return [read, doubts, *([phrase("report.answer.with_others")] if with_others else [])]


def _checks(checks: Sequence[CheckStatement], decimals: int) -> list[Block]:
    """Failing checks first; only so many, the others are counted."""
    heading = Heading(phrase("report.answer.checks"), level=3)
    if not checks:
        return [heading, Paragraph(phrase("report.answer.no_checks"))]
    order = sorted(checks, key=lambda check: (check.passes, check.order))
    heads = table("report_columns")["checks"]
    columns = tuple(Column(head, "right", share=1) for head in heads)
    rows = tuple(
        (
            whole(check.order + 1),
            f"{fixed(check.nominal_g, decimals)}{THIN}g",
            f"{fixed(check.read_g, decimals)}{THIN}g",
            f"{fixed(check.read_g - check.nominal_g, decimals, signed=True)}{THIN}g",
            f"±{THIN}{fixed(check.tolerance_g, decimals)}{THIN}g",
            phrase("report.answer.check_pass" if check.passes else "report.answer.check_fail"),
        )
        for check in order[:MOST_CHECKS]
    )
    blocks: list[Block] = [heading, Table(columns, rows, phrase("report.answer.check_summary"))]
    if len(order) > MOST_CHECKS:
        more = whole(len(order) - MOST_CHECKS)
        blocks.append(Paragraph(say("report.answer.more_checks", n=more), "note"))
    return blocks
