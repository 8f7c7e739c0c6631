"""Dated standards of coin types: TOML files with a source a figure, loader, look-up."""

from lotscreen.standards.coin_type import CoinType, Remedy, Resolution
from lotscreen.standards.table import StandardsTable, load_standards

__all__ = ["CoinType", "Remedy", "Resolution", "StandardsTable", "load_standards"]
