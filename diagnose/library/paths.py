"""What stands at a path, whatever the path is: too long, in a circle of links, or closed to this user."""

from __future__ import annotations

import stat
from pathlib import Path
from typing import Literal

__all__ = ["standing"]


def standing(path: Path) -> Literal["file", "folder", "other", "nothing"]:
    """Links are followed. "other" is a pipe, a device or a socket: neither read whole nor written over.

    "nothing" is also what cannot be looked at: opening it says why.
    """
    try:
        mode = path.stat().st_mode
    except (OSError, ValueError):
        return "nothing"
    return "file" if stat.S_ISREG(mode) else "folder" if stat.S_ISDIR(mode) else "other"
