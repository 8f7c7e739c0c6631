"""lotscreen: screens a lot of coins from a sheet of measurements.

The Python API gives what the command gives. Its names are imported when first asked for,
so that ``lotscreen --help`` answers at once:

>>> import lotscreen
>>> screening = lotscreen.screen("sample_lots/all_honest.csv")  # doctest: +SKIP
>>> coins = lotscreen.coins_frame(screening)                    # doctest: +SKIP
>>> lotscreen.write_outputs(screening).folder                   # doctest: +SKIP
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lotscreen.fit_file import load_fit, save_fit
    from lotscreen.intake import ReadOptions
    from lotscreen.records import LotscreenError
    from lotscreen.report.outputs import write_outputs
    from lotscreen.report.tables import coins_frame
    from lotscreen.screening import Screening, screen
    from lotscreen.settings import Settings, load_settings
    from lotscreen.standards import StandardsTable, load_standards

__version__ = "0.1.0"

_HOMES = {
    "LotscreenError": "records",
    "ReadOptions": "intake",
    "Screening": "screening",
    "Settings": "settings",
    "StandardsTable": "standards",
    "coins_frame": "report.tables",
    "load_fit": "fit_file",
    "load_settings": "settings",
    "load_standards": "standards",
    "save_fit": "fit_file",
    "screen": "screening",
    "write_outputs": "report.outputs",
}

__all__ = [
    "LotscreenError",
    "ReadOptions",
    "Screening",
    "Settings",
    "StandardsTable",
    "coins_frame",
    "load_fit",
    "load_settings",
    "load_standards",
    "save_fit",
    "screen",
    "write_outputs",
]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'lotscreen' has no attribute {name!r}")
    return getattr(import_module(f"lotscreen.{_HOMES[name]}"), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
