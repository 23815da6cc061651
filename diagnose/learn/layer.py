"""Learned figures as a layer of trees: rows as they are written, with other figures, in files of their own.

The shipped rows stay untouched. The text of the layer is made here; whoever calls it writes the files.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import yaml

from diagnose.learn.rows import Key
from diagnose.library.build import Draft
from diagnose.library.text import Mapping as Table
from diagnose.library.text import Node, Scalar, Sequence

__all__ = ["MARK", "NAME", "OWN_JOBS", "layer_files"]

#: Name of the first file of a layer, and how each of its files begins.
NAME = "learned.yaml"
MARK = "# Learned from closed jobs by `diagnose learn`"

#: Id of the source that every changed row names.
OWN_JOBS = "own-closed-jobs"

Row = dict[str, Any]


def layer_files(draft: Draft, values: Mapping[Key, float], jobs: int) -> dict[str, str]:
    """Name -> YAML of the files of a layer with these figures; a life's is the factor on its hazard."""
    head = (
        f"{MARK}: {len(values)} figures from {jobs} jobs in all.\n"
        "# Laid over the trees with --trees; without it everything is as it was.\n"
    )
    rows: dict[str, list[Row]] = {
        "sources": [{"id": OWN_JOBS, "name": f"{jobs} closed jobs of this workshop"}],
        "parts": _parts(draft, values),
        "checks": _checks(draft, values),
    }
    files = {NAME: head + "".join(_dump({kind: each}) for kind, each in rows.items() if each)}
    for complaint in _complaints(draft, values):
        # A file holds one complaint.
        files[f"learned-{complaint['id']}.yaml"] = head + _dump({"complaint": complaint})
    return files


def _parts(draft: Draft, values: Mapping[Key, float]) -> list[Row]:
    parts: dict[str, Row] = {}
    for fault in draft.library.faults.values():
        chance, factor = values.get(Key("chance", fault.id)), values.get(Key("life", fault.id))
        if chance is None and factor is None:
            continue
        row = _plain(draft.rows.top["faults"][fault.id].node)
        if chance is not None:
            row["chance"] = _figure(chance)
        if factor is not None and fault.life is not None:
            for clock, shipped in (("km", fault.life.km), ("years", fault.life.years)):
                if shipped is not None:
                    row["life"][clock] = _figure(shipped * factor ** (-1.0 / fault.life.shape))
        _marked(row)
        if fault.part not in parts:
            parts[fault.part] = _plain(draft.rows.top["parts"][fault.part].node)
            # Faults that are not named here stay as the layers below have them.
            parts[fault.part]["faults"] = []
        parts[fault.part]["faults"].append(row)
    return list(parts.values())


def _checks(draft: Draft, values: Mapping[Key, float]) -> list[Row]:
    found = []
    for name, written in draft.rows.top["checks"].items():
        row, changed = _plain(written.node), False
        for finding in row["findings"]:
            own = f"{name}/{finding['id']}"
            alarm = values.get(Key("false-alarm", own))
            if alarm is not None:
                finding["false-alarm"] = _figure(alarm)
            hits = {
                target: values.get(Key("detection", own, target)) for target in finding.get("points-to", ())
            }
            for target, value in hits.items():
                if value is not None:
                    finding["points-to"][target] = _figure(value)
            if alarm is not None or any(value is not None for value in hits.values()):
                changed = True
                if "source" in finding:
                    _marked(finding)
        if changed:
            _marked(row)
            found.append(row)
    return found


def _complaints(draft: Draft, values: Mapping[Key, float]) -> list[Row]:
    found = []
    for name, written in draft.rows.top["complaints"].items():
        row = _plain(written.node)
        if _tree(row, name, values, {}):
            _marked(row)
            found.append(row)
    return found


def _tree(gate: Row, owner: str, values: Mapping[Key, float], counts: dict[str, int]) -> bool:
    """Put the figures into a gate and all below it; True if there were any. Counts leaves as `rows` does."""
    changed = False
    leak = values.get(Key("leak", owner))
    if leak is not None:
        gate["leak"], changed = _figure(leak), True
    for branch in gate.get("any") or gate.get("all") or gate.get("of") or ():
        if "cause" in branch:
            number = counts.get(owner, 0)
            counts[owner] = number + 1
            strength = values.get(Key("strength", owner, branch["cause"], number))
            if strength is not None:
                branch["strength"], changed = _figure(strength), True
        elif "mechanism" in branch:
            changed |= _tree(branch, branch["mechanism"], values, counts)
    return changed


def _figure(value: float) -> str:
    """A figure to three places that count."""
    return f"{float(f'{value:.3g}'):.10f}".rstrip("0").rstrip(".")


def _marked(row: Row) -> None:
    """Name the jobs as a source beside those it has."""
    known = row.get("source", [])
    known = known if isinstance(known, list) else [known]
    row["source"] = [*(each for each in known if each != OWN_JOBS), OWN_JOBS]


def _plain(node: Node) -> Any:
    """The node as lists, dictionaries and texts."""
    if isinstance(node, Scalar):
        return node.text
    if isinstance(node, Sequence):
        return [_plain(each) for each in node.items]
    assert isinstance(node, Table)
    return {key.text: _plain(value) for key, value in node.items}


class _Dumper(yaml.SafeDumper):
    """Writes every text as plainly as it can stand: `0.4` and `yes` are texts in these files."""

    def ignore_aliases(self, data: Any) -> bool:
        return True


def _text(dumper: _Dumper, value: str) -> yaml.ScalarNode:
    tag = dumper.resolve(yaml.ScalarNode, value, (True, False))  # type: ignore[no-untyped-call]
    return dumper.represent_scalar(tag, value)


_Dumper.add_representer(str, _text)


def _dump(rows: Mapping[str, Any]) -> str:
    text: str = yaml.dump(dict(rows), Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=100)
    return text
