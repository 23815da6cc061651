"""The tests. No test asserts a wall-clock time, so no example of a property has a deadline either.

A property is tried on few random examples by default, and on many where the long tests run as well
(`-m "long or not long"`); one that names its own number keeps it.
"""

from hypothesis import settings

settings.register_profile("quick", deadline=None, max_examples=25)
settings.register_profile("thorough", deadline=None, max_examples=100)
settings.load_profile("quick")


def take_profile(marks: str) -> None:
    """Few examples of each property, or many where tests marked `long` are wanted (pytest's -m)."""
    settings.load_profile("thorough" if "long" in marks.replace("not long", "") else "quick")
