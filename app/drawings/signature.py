"""A signature as it was drawn, stroke by stroke, in ink on nothing."""

from collections.abc import Sequence

from app.drawings import svg
from app.drawings.inks import PAGE, Inks

WIDTH, HEIGHT = 1000.0, 360.0
"""Of the field that was signed in; points count from its top left corner."""
PEN = 7.0

Stroke = Sequence[tuple[int, int]]


def signature(strokes: Sequence[Stroke], title: str, *, inks: Inks = PAGE) -> str:
    """The strokes as SVG, `title` saying whose they are; empty without strokes."""
    if not strokes:
        return ""
    return svg.document([drawn(stroke, inks) for stroke in strokes], title, 0, 0, WIDTH, HEIGHT)


def drawn(stroke: Stroke, inks: Inks) -> str:
    """One stroke; a pen that was only set down leaves a dot."""
    if len(stroke) == 1:
        return svg.circle(stroke[0], PEN / 2, fill=inks.ink)
    return svg.polyline(
        stroke,
        fill="none",
        stroke=inks.ink,
        stroke_width=PEN,
        stroke_linecap="round",
        stroke_linejoin="round",
    )
