"""Finds, in the source, every code with which the program refuses, warns or fails."""

import ast
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import app
from app import errors

ERROR_CLASSES = frozenset(
    name
    for name, value in vars(errors).items()
    if isinstance(value, type) and issubclass(value, errors.JigbookError)
)
MAKERS = ERROR_CLASSES | {"Problem"}
ROOT = Path(app.__file__).parent if app.__file__ else Path(app.__path__[0])


@dataclass(frozen=True)
class Use:
    """One place where a code is used, and the names of the facts given with it, if seen."""

    code: str
    place: str
    facts: frozenset[str] | None = field(compare=False, default=None)

    def __str__(self) -> str:
        # Names of tests must come out the same in every process that collects them.
        return f"{self.code} at {self.place}"


def uses(makers: frozenset[str] = MAKERS) -> list[Use]:
    found = []
    for path, constants, calls in _calls():
        for node in calls:
            if _name(node.func) in makers:
                place = f"{path.relative_to(ROOT)}:{node.lineno}"
                found += [Use(code, place, _facts(node)) for code in _codes(node, constants)]
    return found


@cache
def _calls() -> list[tuple[Path, dict[str, str], list[ast.Call]]]:
    """Every call in every module, and the module's texts that have a name."""
    found = []
    for path in sorted(ROOT.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        calls = [node for node in ast.walk(tree) if isinstance(node, ast.Call)]
        found.append((path, _module_constants(tree), calls))
    return found


def _name(function: ast.expr) -> str:
    if isinstance(function, ast.Attribute):
        return function.attr
    return function.id if isinstance(function, ast.Name) else ""


def _codes(call: ast.Call, constants: dict[str, str]) -> Iterator[str]:
    named = [keyword.value for keyword in call.keywords if keyword.arg == "code"]
    for argument in [*call.args[:1], *named]:
        yield from _texts(argument, constants)


def _texts(node: ast.expr, constants: dict[str, str]) -> Iterator[str]:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from _texts(node.body, constants)
        yield from _texts(node.orelse, constants)
    elif isinstance(node, ast.Name) and node.id in constants:
        yield constants[node.id]
    elif isinstance(node, ast.Attribute) and node.attr in constants:
        yield constants[node.attr]


def _module_constants(tree: ast.Module) -> dict[str, str]:
    return {
        target.id: node.value.value
        for node in tree.body
        if isinstance(node, ast.Assign)
        and isinstance(node.value, ast.Constant)
        and isinstance(node.value.value, str)
        for target in node.targets
        if isinstance(target, ast.Name)
    }


def _facts(call: ast.Call) -> frozenset[str] | None:
    """Names of the facts that stand in the call itself; None when a variable holds them."""
    if _name(call.func) in {"BadInput", "RefusedToIssue"}:
        return None
    if _name(call.func) != "Problem":
        names = {keyword.arg for keyword in call.keywords}
        return None if None in names else frozenset(name for name in names if name)
    if len(call.args) < 3:
        return frozenset()
    facts = call.args[2]
    if isinstance(facts, ast.Dict) and all(isinstance(key, ast.Constant) for key in facts.keys):
        return frozenset(str(key.value) for key in facts.keys if isinstance(key, ast.Constant))
    return None
