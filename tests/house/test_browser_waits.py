"""Tests in the browser wait for what a press leads to.

A press only begins what the browser does; whoever asks for the next page at once, or looks at the
page at once, wins or loses with the load of the machine.
"""

import ast
from collections.abc import Iterator
from itertools import pairwise

from tests.conftest import TESTS

PRESSES = {"click", "press"}
HASTY = {"goto", "reload", "title", "count", "is_visible", "violations", "inner_text"}
"""What does not wait for the page to come, or drops it."""


def test_what_a_press_leads_to_is_waited_for() -> None:
    files = sorted((TESTS / "browser").glob("*.py"))
    assert len(files) > 10
    hasty = [
        f"{file.name}:{line}" for file in files for line in hasty_lines(ast.parse(file.read_text()))
    ]
    assert hasty == []


def test_haste_is_found() -> None:
    hasty = "page.get_by_role('button').click()\npage.goto('/next')\n"
    assert list(hasty_lines(ast.parse(hasty))) == [2]
    waiting = "page.get_by_role('button').click()\npage.wait_for_url('/done')\npage.goto('/next')\n"
    assert list(hasty_lines(ast.parse(waiting))) == []


def hasty_lines(tree: ast.Module) -> Iterator[int]:
    """Where the statement after a press does not wait for what it leads to."""
    for node in ast.walk(tree):
        body = getattr(node, "body", None)
        if not isinstance(body, list):
            continue
        for one, following in pairwise(body):
            pressed = isinstance(one, ast.Expr) and calls_of(one) & PRESSES
            if pressed and called_at_once(following):
                yield following.lineno


def called_at_once(statement: ast.stmt) -> bool:
    """Whether it asks at once; the body of a compound statement is looked at by itself."""
    if isinstance(statement, ast.With | ast.For | ast.If | ast.While | ast.FunctionDef):
        return False
    return bool(calls_of(statement) & HASTY)


def calls_of(statement: ast.stmt) -> set[str]:
    """The names of the functions that it calls."""
    called = (node.func for node in ast.walk(statement) if isinstance(node, ast.Call))
    return {
        one.attr if isinstance(one, ast.Attribute) else one.id
        for one in called
        if isinstance(one, ast.Attribute | ast.Name)
    }
