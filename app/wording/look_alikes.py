"""What a measurement from the pivot alone cannot tell apart, and what to measure to tell it."""

from collections.abc import Sequence

from app.wording.enumeration import listed
from app.wording.labels import named
from app.wording.translation import _

MOST_NAMED = 6


def sentence() -> str:
    """Return what a measurement without control points leaves open."""
    return _(
        "Without control points (fixed places of the frame) a bent steering head cannot be told "
        "from a bent swing-arm pivot, nor a head that leans to one side from one that is turned."
    )


def in_brief() -> str:
    """Return the same for a line that has little room."""
    return _("Without control points a bent head and a bent pivot look alike.")


def head_or_pivot(control_points: Sequence[str]) -> str:
    """Return what to measure to tell a bent head from a bent pivot; `control_points`: those that
    the reference has places for, at least three of them, or none."""
    if control_points:
        return _(
            "Head or pivot? Measure three control points or more, not in one line: {names}. Then "
            "the finding says how the pivot itself lies in the frame."
        ).format(names=listed([named(name) for name in control_points], MOST_NAMED))
    return _(
        "Head or pivot? Measure pairs left and right on sound parts of the frame, such as engine "
        "mounts or tail rails. If they stand in the middle, level and square, the pivot is "
        "straight and the head is bent. If they too are off to one side or turned, look at the "
        "pivot first. Where the head is too far back or forward, compare the distance from the "
        "pivot to an engine mount with the maker's figure or with a sound machine."
    )


def leaning_or_turned() -> str:
    """Return what to measure to tell a head that leans from one that is turned."""
    return _(
        "Leaning or turned? Measure a pair left and right on the head itself, or as close to it as "
        "can be. One end higher than the other: it leans. One end farther back: it is turned."
    )
