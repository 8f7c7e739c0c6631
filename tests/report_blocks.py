"""Looking into the blocks of a page: drawings and tables wherever they stand."""

from __future__ import annotations

from lotscreen.report.blocks import Block, Picture, SideBySide, Table, Together
from lotscreen.report.view import LotView, report_view
from lotscreen.screening import Screening


def lot_view(screening: Screening) -> LotView:
    """The most doubtful lot of ``screening`` as the pages see it."""
    return report_view(screening, None, "0.1.0").lots[0]


def flat(blocks: list[Block]) -> list[Block]:
    """All blocks, those inside others too."""
    found: list[Block] = []
    for block in blocks:
        if isinstance(block, Together):
            found += flat(list(block.blocks))
        elif isinstance(block, SideBySide):
            found += flat([*block.left, *block.right])
        else:
            found.append(block)
    return found


def pictures(blocks: list[Block]) -> list[Picture]:
    """The drawings among ``blocks``."""
    return [block for block in flat(blocks) if isinstance(block, Picture)]


def tables(blocks: list[Block]) -> list[Table]:
    """The tables among ``blocks``."""
    return [block for block in flat(blocks) if isinstance(block, Table)]
