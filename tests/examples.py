"""A property tried on few random examples in the fast suite, and on many with `-m long`."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings

__all__ = ["often"]


def often(fast: int, full: int, *strategies: Any) -> Callable[[Callable[..., None]], Callable[[int], None]]:
    """For a property of which an example costs more than 20 ms: `given` with so many examples."""

    def mark(holds: Callable[..., None]) -> Callable[[int], None]:
        @pytest.mark.parametrize("examples", [fast, pytest.param(full, marks=pytest.mark.long)])
        def test(examples: int) -> None:
            settings(max_examples=examples, deadline=None)(given(*strategies)(holds))()

        test.__name__, test.__doc__ = holds.__name__, holds.__doc__
        return test

    return mark
