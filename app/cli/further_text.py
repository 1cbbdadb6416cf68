"""Plan, combination and change as text for a terminal."""

from collections.abc import Iterator

from app.schemas.comparing import ChangeOut
from app.schemas.planning import PlanOut
from app.schemas.result import ResultOut
from app.wording.translation import _


def paragraphs(result: ResultOut) -> Iterator[str]:
    """What stands beyond one survey by itself; nothing where nothing of it was asked for."""
    if "combined" in result:
        yield result["combined"]["sentence"]
    if "change" in result:
        yield from _change(result["change"])
    if "plan" in result:
        yield from _plan(result["plan"])


def _change(change: ChangeOut) -> Iterator[str]:
    yield _("Change from before, without what both measurements share:")
    for one in change["characteristics"]:
        yield f"   {one['name']}: {one['sense']}"


def _plan(plan: PlanOut) -> Iterator[str]:
    """How far the points lead, then what would help most."""
    yield _("What to measure next: {message}.").format(message=plan["message"])
    for need in plan["still_needed"]:
        yield f"   {need['message']}"
    if plan["best"] is None:
        yield "   " + _("no further point or station brings the uncertainty down by 2 % or more")
    for suggestion in plan["candidates"]:
        yield f"   {suggestion['message']}"
    for one in plan["characteristics"]:
        if one["decided"] is False or one["enough"] is False:
            yield f"   {one['message']}"
