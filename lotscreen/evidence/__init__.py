"""What an item's numbers say: directions, rival explanations, findings."""

from lotscreen.evidence.judge import judge

__all__ = ["judge"]
