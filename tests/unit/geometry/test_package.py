"""The room as a whole: its public names, and where it may reach."""

from __future__ import annotations

import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

from diagnose import geometry

ROOM = Path(geometry.__file__).parent
MODULES = sorted(path.stem for path in ROOM.glob("*.py") if path.stem not in ("__init__", "ranges"))


def test_the_public_names_are_those_of_the_modules() -> None:
    listed = {
        name: module for module in MODULES for name in import_module(f"diagnose.geometry.{module}").__all__
    }
    assert listed == geometry._HOME
    assert geometry.__all__ == sorted(listed)
    for name, module in listed.items():
        assert getattr(geometry, name) is getattr(import_module(f"diagnose.geometry.{module}"), name)


def test_every_module_is_seen_by_the_type_checker() -> None:
    text = (ROOM / "__init__.py").read_text("utf-8")
    for module in MODULES:
        assert f"from diagnose.geometry.{module} import *" in text


def test_a_name_that_is_not_there() -> None:
    with pytest.raises(AttributeError, match=r"module 'diagnose\.geometry' has no attribute 'toe_angel'"):
        _ = geometry.toe_angel


def test_the_room_alone_loads_nothing_of_the_program_but_errors() -> None:
    code = "import sys; from diagnose.geometry import *; print(*sys.modules)"
    loaded = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOM.parents[1]
    )
    rooms = {name.split(".")[1] for name in loaded.stdout.split() if name.startswith("diagnose.")}
    assert rooms == {"errors", "geometry", "version"}


def test_every_public_function_is_explained() -> None:
    for name in geometry.__all__:
        thing = getattr(geometry, name)
        if callable(thing) and getattr(thing, "__module__", "").startswith("diagnose."):
            assert thing.__doc__ and not thing.__doc__.startswith(f"{name}("), name
