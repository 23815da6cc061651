"""Folders of the run's own: no test reads or writes the user's jobs or compiled trees, whatever it starts."""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path

import pytest

from tests import take_profile

_away = pytest.StashKey[str]()


def pytest_configure(config: pytest.Config) -> None:
    """Before any test is imported; the workers of pytest-xdist inherit it, so trees are compiled once."""
    take_profile(str(config.option.markexpr or ""))
    if hasattr(config, "workerinput"):
        return
    config.stash[_away] = away = tempfile.mkdtemp(prefix="diagnose-tests-")
    os.environ["DIAGNOSE_CACHE"] = str(Path(away, "cache"))
    os.environ["DIAGNOSE_STORE"] = str(Path(away, "jobs.sqlite"))


def pytest_unconfigure(config: pytest.Config) -> None:
    if _away in config.stash:
        shutil.rmtree(config.stash[_away], ignore_errors=True)
