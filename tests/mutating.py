"""Small mistakes put into a module, one at a time: mutants, to see whether the tests notice.

The operators are the usual ones of mutation testing (Ammann and Offutt, Introduction to Software Testing,
chapter 9: relational, arithmetic, logical and unary operators replaced, constants changed, statements
removed), written over the syntax tree. Texts, annotations, decorators and imports are left alone.
"""

from __future__ import annotations

import ast
import copy
import hashlib
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from types import CodeType

__all__ = ["Mutant", "mutants", "sample"]

#: A comparison or an operator -> what stands there instead.
SWAPS: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
    ast.LShift: ast.RShift,
    ast.RShift: ast.LShift,
    ast.And: ast.Or,
    ast.Or: ast.And,
}
NAMES = {"min": "max", "max": "min", "any": "all", "all": "any"}

#: Fields that hold no behaviour that a test could see.
SILENT = {"annotation", "returns", "decorator_list", "type_params"}


@dataclass(frozen=True)
class Mutant:
    """One mistake. function: where it stands ("" outside of all), first: the line on which that begins."""

    module: str
    function: str
    first: int
    line: int
    kind: str
    change: str
    again: int
    code: Callable[[], CodeType]

    @property
    def name(self) -> str:
        """The same however far down the file it stands; `again` counts equal changes in one function."""
        return f"{self.module}:{self.function}: {self.change}" + (
            f" ({self.again + 1})" if self.again else ""
        )


@dataclass
class _Site:
    node: ast.AST
    parent: ast.AST
    field: str
    index: int | None
    function: str
    first: int
    whole: ast.AST


def mutants(module: str, source: str, path: str) -> list[Mutant]:
    """Every mutant of a module, in the order of its lines."""
    tree = ast.parse(source)
    found, seen = [], Counter[tuple[str, str]]()
    for site in _sites(tree, None, "", None, "", 0, tree):
        for kind, new in _changes(site):
            old_text, new_text = _text(site.node), _text(new)
            change = f"{old_text} -> {new_text}" if len(old_text) < 90 else f"{kind} in {old_text[:86]} ..."
            if not isinstance(site.node, ast.stmt) and site.whole is not tree:
                change += f" in {_text(site.whole)[:60]}"
            again = seen[site.function, change]
            seen[site.function, change] += 1
            found.append(
                Mutant(
                    module,
                    site.function,
                    site.first,
                    getattr(site.node, "lineno", site.first),
                    kind,
                    change,
                    again,
                    _compiled(tree, site, new, path),
                )
            )
    return found


def sample(every: Iterable[Mutant], size: int, seed: int) -> list[Mutant]:
    """A random sample, drawn by each mutant's own name: most of it stays where the code around changes."""

    def drawn(mutant: Mutant) -> bytes:
        return hashlib.sha256(f"{seed} {mutant.name}".encode()).digest()

    return sorted(every, key=drawn)[:size]


def _text(node: ast.AST | None) -> str:
    return "pass" if node is None else " ".join(ast.unparse(node).split())


def _compiled(tree: ast.Module, site: _Site, new: ast.AST, path: str) -> Callable[[], CodeType]:
    def code() -> CodeType:
        old = getattr(site.parent, site.field)
        put = new if site.index is None else [*old[: site.index], new, *old[site.index + 1 :]]
        setattr(site.parent, site.field, put)
        try:
            return compile(ast.fix_missing_locations(tree), path, "exec")
        finally:
            setattr(site.parent, site.field, old)

    return code


def _sites(
    node: ast.AST,
    parent: ast.AST | None,
    field: str,
    index: int | None,
    function: str,
    first: int,
    whole: ast.AST,
) -> Iterator[_Site]:
    if parent is not None:
        yield _Site(node, parent, field, index, function, first, whole)
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        if isinstance(node, ast.FunctionDef) and not first:
            first = min([node.lineno, *(each.lineno for each in node.decorator_list)])
        function = f"{function}.{node.name}".lstrip(".")
    if isinstance(node, ast.stmt):
        whole = node
    if isinstance(node, ast.If) and _text(node.test) == "TYPE_CHECKING":
        return
    for name, value in ast.iter_fields(node):
        if name in SILENT:
            continue
        many = isinstance(value, list)
        for number, below in enumerate(value if many else [value]):
            if isinstance(below, ast.AST):
                yield from _sites(below, node, name, number if many else None, function, first, whole)


def _changes(site: _Site) -> Iterator[tuple[str, ast.AST]]:
    """What may stand in the place of a node, and of what kind the change is."""
    node = site.node
    match node:
        case ast.Compare():
            for number, each in enumerate(node.ops):
                new = copy.copy(node)
                new.ops = [*node.ops[:number], SWAPS[type(each)](), *node.ops[number + 1 :]]
                yield "comparison", new
        case ast.BinOp() | ast.AugAssign() | ast.BoolOp() if type(node.op) in SWAPS:
            new = copy.copy(node)
            new.op = SWAPS[type(node.op)]()
            yield "logic" if isinstance(node, ast.BoolOp) else "arithmetic", new
        case ast.UnaryOp(op=ast.Not() | ast.USub()):
            yield "logic" if isinstance(node.op, ast.Not) else "arithmetic", node.operand
        case ast.Constant(value=bool(value)):
            yield "constant", ast.copy_location(ast.Constant(not value), node)
        case ast.Constant(value=int(value)):
            yield "constant", ast.copy_location(ast.Constant(value + 1), node)
        case ast.Constant(value=float(value)):
            yield "constant", ast.copy_location(ast.Constant(value * 2.0 if value else 1.0), node)
        case ast.Name(id=name) if name in NAMES and site.field == "func":
            yield "name", ast.copy_location(ast.Name(NAMES[name], ast.Load()), node)
    if site.field == "test" or site.field == "ifs":
        yield "condition", ast.copy_location(ast.UnaryOp(ast.Not(), node), node)
    if isinstance(node, ast.Return) and node.value is not None and _text(node.value) != "None":
        yield "return", ast.copy_location(ast.Return(ast.Constant(None)), node)
    docstring = isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    removable = ast.Expr | ast.AugAssign | ast.Raise | ast.Continue | ast.Break | ast.Delete
    into = isinstance(node, ast.Assign) and not any(
        isinstance(each, ast.Name | ast.Tuple) for each in node.targets
    )
    if (isinstance(node, removable) and not docstring) or into:
        yield "removed", ast.copy_location(ast.Pass(), node)
