"""What is typed behind an option, taken in strictly."""

from __future__ import annotations

import argparse

from diagnose.units import MOST_AMOUNT

__all__ = ["amount"]


def amount(text: str) -> float:
    """A number from 0 up to a thousand million, with a point or a comma. Raises ArgumentTypeError."""
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = -1.0
    if not 0.0 <= value < MOST_AMOUNT:
        raise argparse.ArgumentTypeError(f"{text!r} is not an amount: write a number, such as 120")
    return value
