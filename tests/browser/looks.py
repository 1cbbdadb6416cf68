"""What is measured on a page that the browser shows: room, targets, contrast, forced colours."""

from pathlib import Path
from typing import Any

from axe_playwright_python.sync_playwright import Axe  # type: ignore[import-untyped]
from playwright.sync_api import BrowserContext, Page

SMALLEST_TARGET_PX = 48
SMALLEST_MAIN_ACTION_PX = 64
READING_CONTRAST = 7.0
OURS = f"{Path(__file__).with_suffix('.js').read_text()}\nwindow.looks = looks;"
SCRIPTS = f"{Axe().axe_script}\n{OURS}"


def load(page: Page) -> None:
    """Once for each page; then it can be looked at in every dress."""
    page.wait_for_load_state()
    if not page.evaluate("Boolean(window.axe && window.looks)"):
        page.evaluate(SCRIPTS)


def bring_along(context: BrowserContext) -> None:
    """Every page of this window has it all from the start: it is long to send again and again."""
    context.add_init_script(SCRIPTS)


def violations(page: Page, *, again: bool = False) -> list[Any]:
    """What axe finds, in short. again: only what may have changed with colours and width."""
    found: list[Any] = page.evaluate("(again) => looks.axed(again)", again)
    return found


def unfold(page: Page) -> None:
    """Open everything that can be unfolded."""
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")


def sideways(page: Page) -> int:
    """By how much the page is wider than the window."""
    width: int = page.evaluate("looks.sideways()")
    return max(0, width)


def small_targets(page: Page) -> list[Any]:
    """On a telephone or a tablet: what a gloved thumb would miss. Links in running text are left
    out, as WCAG 2.5.8 does."""
    least = [SMALLEST_TARGET_PX, SMALLEST_MAIN_ACTION_PX]
    found: list[Any] = page.evaluate("(least) => looks.small(least)", least)
    return found[:5]


def faint_readings(page: Page) -> list[Any]:
    """Readings and verdicts whose contrast is under 7:1, as the browser computed their colours."""
    found: list[Any] = page.evaluate("(least) => looks.faint(least)", READING_CONTRAST)
    return found[:5]


def lost_in_forced_colours(page: Page) -> list[Any]:
    """Buttons without an edge, strokes and words that cannot be seen in the reader's colours."""
    found: list[Any] = page.evaluate("looks.lost()")
    return found[:6]


def can_be_filled_in(page: Page) -> bool:
    """Whether the page has a form with a field that is typed into."""
    load(page)
    return bool(page.evaluate("looks.fields().length"))


def sent_badly(page: Page) -> int:
    """Send that form with words for numbers and nothing in its other fields; gives the status."""
    with page.expect_navigation() as going:
        page.evaluate("looks.sendBadly()")
    assert going.value is not None
    return going.value.status


def dead_ends(page: Page) -> list[str]:
    """Where a list of mistakes leads to nothing."""
    found: list[str] = page.evaluate("looks.deadEnds()")
    return found
