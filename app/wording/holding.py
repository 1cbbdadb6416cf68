"""What an open hold stops, what it does not, and who closes it."""

from collections.abc import Sequence

from app.wording import cautions
from app.wording.enumeration import listed
from app.wording.translation import _, counted

MOST = 3


def before_signing(holds: int) -> str:
    """Return, beside the step of signing, what stands before a completion certificate."""
    return counted(
        "{count} open hold: an inspector closes it before a completion certificate",
        "{count} open holds: an inspector closes them before a completion certificate",
        holds,
    ).format(count=holds)


def stopped(by: str) -> str:
    """Return why the chassis is not to be straightened; `by` as in `road.stopped_by`."""
    return {
        "hold": _("the frame is on hold: an inspector decides first"),
        "forbidden": _("the reference forbids straightening"),
    }[by]


def frame_on_hold() -> str:
    """Return what comes of a hold on the frame itself."""
    return _(
        "The frame is on hold, so nothing of it is straightened before an inspector has decided: "
        "closed with a reason, it can be corrected; until then a report can be signed, and no "
        "completion certificate."
    )


def beside(items: Sequence[str]) -> str:
    """Return what open holds on other parts do to the work; `items`: what was seen."""
    told = _("On hold: {items}.").format(items=listed(items, MOST))
    return f"{told} " + _(
        "The work goes on; no completion certificate can be signed before an inspector closes it."
    )


def before_correction(item: str, note: str, *, frame: bool) -> str:
    """Return what must be known of one open hold before anything is corrected."""
    told = _("On hold: {items}.").format(items=f"{item} ({note})" if note else item)
    if frame:
        wait = _("Straighten nothing of the frame before an inspector has decided.")
        return f"{told} {cautions.everywhere()[1]} {wait}"
    part = _("The part is replaced or repaired; the hold stays until an inspector closes it.")
    return f"{told} {part}"
