"""What an option of the command line may be: from its text to the value, or to what to write instead."""

from __future__ import annotations

import argparse

__all__ = ["count", "currency", "many", "noise", "positive", "seed", "ways"]


def positive(text: str) -> float:
    """Money per hour."""
    try:
        value = float(text)
    except ValueError:
        value = 0.0
    if not 0.01 <= value <= 100_000.0:
        raise argparse.ArgumentTypeError(f"{text!r} is not money per hour: write a number such as 95")
    return value


def currency(text: str) -> str:
    """A currency as a case file may have it, so that every place takes the same words."""
    word = " ".join(text.split())
    if not word or len(word) > 8 or not word.isprintable():
        raise argparse.ArgumentTypeError(f"{text!r} is not a currency: write up to 8 letters such as EUR")
    return word


def count(text: str) -> int:
    """A whole number from 1 to 10,000."""
    if not text.isdigit() or not 1 <= int(text) <= 10_000:
        raise argparse.ArgumentTypeError(f"{text!r} is not a count: write a whole number from 1")
    return int(text)


def many(text: str) -> int:
    """A number of cars."""
    if not text.isdigit() or not 1 <= int(text) <= 1_000_000:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number of cars: write a whole number from 1")
    return int(text)


def seed(text: str) -> int:
    """A seed for what is drawn by chance."""
    if not text.isdigit() or len(text) > 9:
        raise argparse.ArgumentTypeError(f"{text!r} is not a seed: write a whole number such as 7")
    return int(text)


def noise(text: str) -> float:
    """A spread of log odds."""
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0.0 <= value <= 3.0:
        raise argparse.ArgumentTypeError(f"{text!r} is not a spread of log odds: write 0 to 3, such as 0.4")
    return value


def ways(text: str) -> tuple[str, ...]:
    """Ways of searching; the program's own comes first, for it is what the others are set against."""
    from diagnose.trials.searches import OWN, SEARCHES

    named = [each.strip() for each in text.split(",")]
    unknown = [each for each in named if each not in SEARCHES]
    if unknown:
        known = ", ".join(SEARCHES)
        raise argparse.ArgumentTypeError(f"{unknown[0]!r} is not a way of searching; these are: {known}")
    return tuple(dict.fromkeys([OWN, *named]))
