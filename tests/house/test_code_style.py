"""What a reader of the house may rely on: short files, plain names, documented core, real tests."""

import ast
from pathlib import Path

import pytest

from tests.house.source_tree import (
    APP,
    CORE,
    ROOT,
    TESTS,
    FunctionNode,
    calls,
    functions,
    python_files,
    room,
    shown,
    tracked_files,
    tree,
)

pytestmark = pytest.mark.checkout

LONGEST_FILE = 400
WRITTEN_BY_HAND = (".py", ".html", ".css", ".js", ".md")
VAGUE = frozenset(
    [
        "util",
        "utils",
        "helper",
        "helpers",
        "common",
        "core",
        "misc",
        "manager",
        "managers",
        "handlers",
    ]
)
TABLES_OF_CODES = ("app/chassis/refusals.py", "app/chassis/caveats.py")
ASSERTING_CALLS = ("pytest.raises", "pytest.warns", "pytest.fail")


def test_no_file_is_longer_than_the_hard_limit() -> None:
    long = {
        shown(path): lines
        for path in tracked_files()
        if path.suffix in WRITTEN_BY_HAND
        and (lines := len(path.read_text(encoding="utf-8").splitlines())) > LONGEST_FILE
    }
    assert long == {}


def test_no_file_or_folder_has_a_vague_name() -> None:
    vague = [
        shown(path)
        for path in tracked_files()
        for part in path.relative_to(ROOT).with_suffix("").parts
        if part.lower().replace("-", "_").split("_")[-1] in VAGUE
    ]
    assert vague == []


@pytest.mark.parametrize("name", CORE)
def test_every_public_function_of_the_core_has_a_docstring(name: str) -> None:
    bare = [
        f"{shown(path, node)} {node.name}"
        for path in room(name)
        if shown(path) not in TABLES_OF_CODES
        for node in tree(path).body
        if isinstance(node, FunctionNode)
        and not node.name.startswith("_")
        and not ast.get_docstring(node)
    ]
    assert bare == []


@pytest.mark.parametrize("file", TABLES_OF_CODES)
def test_every_code_stands_in_the_table_of_its_module(file: str) -> None:
    """These modules document their many small functions in one table at their head."""
    module = tree(ROOT / file)
    codes = {
        call.args[0].value
        for call, name in calls(module)
        if name in ("Refusal", "Caveat") and isinstance(call.args[0], ast.Constant)
    }
    assert len(codes) > 10
    table = ast.get_docstring(module) or ""
    assert {code for code in codes if str(code) not in table} == set()


def has_docstring(path: Path) -> bool:
    return bool(ast.get_docstring(tree(path)))


def test_every_module_of_the_app_says_what_it_is() -> None:
    bare = [
        shown(path) for path in python_files(APP) if tree(path).body and not has_docstring(path)
    ]
    assert bare == []


def test_no_test_is_skipped_or_expected_to_fail() -> None:
    forbidden = {"skip", "skipif", "skipUnless", "xfail", "importorskip", "SkipTest"}
    found = [
        f"{shown(path, node)} {node.attr}"
        for path in python_files(TESTS)
        for node in ast.walk(tree(path))
        if isinstance(node, ast.Attribute) and node.attr in forbidden
    ]
    assert found == []


def asserts(function: FunctionNode, asserting: frozenset[str]) -> bool:
    return any(isinstance(node, ast.Assert) for node in ast.walk(function)) or any(
        name.startswith(ASSERTING_CALLS) or "assert" in name or name.split(".")[-1] in asserting
        for _, name in calls(function)
    )


def asserting_functions() -> frozenset[str]:
    """Names of the tests' own functions that assert, straight or through one another."""
    everything = [one for path in python_files(TESTS) for one in functions(tree(path))]
    known: frozenset[str] = frozenset()
    while True:
        more = frozenset(one.name for one in everything if asserts(one, known))
        if more == known:
            return known
        known = more


def test_every_test_asserts_something() -> None:
    asserting = asserting_functions()
    empty = [
        f"{shown(path, function)} {function.name}"
        for path in python_files(TESTS)
        for function in functions(tree(path))
        if function.name.startswith("test_") and not asserts(function, asserting)
    ]
    assert empty == []


def test_an_empty_test_would_be_seen() -> None:
    module = ast.parse("def test_nothing() -> None:\n    print(1)\n")
    assert not any(asserts(function, frozenset()) for function in functions(module))
