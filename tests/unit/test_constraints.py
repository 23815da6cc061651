"""What the project's own check installs (.ci/constraints.txt) is in the ranges of pyproject.toml, and whole.

The meaning of names, ranges and markers: the packaging library, which follows the Python packaging standards
(names as in PEP 503, versions as in PEP 440, markers as in PEP 508).
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

ROOT = Path(__file__).resolve().parents[2]
LINUX = {"sys_platform": "linux", "platform_system": "Linux", "os_name": "posix", "extra": ""}


def locked(text: str) -> dict[str, Version]:
    """Name -> the only version that each line allows."""
    found = {}
    for line in text.splitlines():
        name, same, version = line.partition("==")
        assert same, f"not one version: {line}"
        found[canonicalize_name(name)] = Version(version)
    return found


def asked() -> list[Requirement]:
    """What the program, its tests and its build ask for."""
    table = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    project = table["project"]
    every = [
        *project["dependencies"],
        *project["optional-dependencies"]["test"],
        *table["build-system"]["requires"],
    ]
    return [Requirement(each) for each in every]


def misfits(lock: dict[str, Version], requirements: list[Requirement]) -> Iterator[str]:
    """What is asked for and not locked in a version of its range."""
    for each in requirements:
        version = lock.get(canonicalize_name(each.name))
        if version is None:
            yield f"{each.name} is not locked"
        elif version not in each.specifier:
            yield f"{each.name} {version} is not in {each.specifier}"


LOCK = locked((ROOT / ".ci" / "constraints.txt").read_text("utf-8"))


def test_the_locked_versions_are_in_the_ranges() -> None:
    assert list(misfits(LOCK, asked())) == []
    # It can fail: a version too old, and a name that is missing.
    assert list(misfits({"rich": Version("1.0")}, [Requirement("rich>=13.7"), Requirement("numpy")])) == [
        "rich 1.0 is not in >=13.7",
        "numpy is not locked",
    ]


def test_what_the_locked_packages_need_is_locked_too() -> None:
    """Asked of the packages that stand here in their locked version; a user may have others."""
    below = []
    for name, version in LOCK.items():
        try:
            installed = distribution(name)
        except PackageNotFoundError:
            continue
        if Version(installed.version) == version:
            needs = [Requirement(each) for each in installed.requires or []]
            below += [each for each in needs if each.marker is None or each.marker.evaluate(LINUX)]
    assert list(misfits(LOCK, below)) == []
    assert below


def test_the_check_installs_them() -> None:
    run = (ROOT / ".ci" / "run").read_text("utf-8")
    assert run.index("PIP_CONSTRAINT=.ci/constraints.txt") < run.index('"$test_command"')
