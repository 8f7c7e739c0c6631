"""Linear algebra on one thread: sums in one order, so the same bytes on any machine.

The matrices here are small; several threads would also wait for each other.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, wraps
from typing import ParamSpec, TypeVar

from threadpoolctl import ThreadpoolController

P = ParamSpec("P")
T = TypeVar("T")


@cache
def _controller() -> ThreadpoolController:
    return ThreadpoolController()


def one_thread(function: Callable[P, T]) -> Callable[P, T]:
    """Run ``function`` with linear algebra limited to one thread."""

    @wraps(function)
    def limited(*args: P.args, **kwargs: P.kwargs) -> T:
        with _controller().limit(limits=1):
            return function(*args, **kwargs)

    return limited
