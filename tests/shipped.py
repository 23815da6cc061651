"""The shipped library, read from its YAML once a process: reading it takes longer than most tests.

It is frozen; a test that needs it otherwise takes `dataclasses.replace`, or `small_trees`.
"""

from __future__ import annotations

from diagnose.library.shelf import load

__all__ = ["LIBRARY"]

LIBRARY = load(cache=False)
