"""The tolerance bar: deviation, its uncertainty and the limits on one horizontal scale.

The limits always stand at the same places, half way from nominal to the ends, so that bars of
different characteristics can be compared at a glance.
"""

from dataclasses import dataclass
from html import escape

from app.drawings import svg
from app.drawings.inks import PAGE, Inks

WIDTH = 200.0
HEIGHT = 22.0
MIDDLE = HEIGHT / 2
NOMINAL = WIDTH / 2
LIMIT_AT = WIDTH / 4
"""Distance of the wider limit from nominal."""
EDGE = 8.0
"""Nothing is drawn closer to the ends; what lies beyond stands there as an arrow head."""
DOT = 3.6
"""Radius of the value's dot."""
SHARED = "even-limits"
"""The identifier of the scale that bars share."""
LETTER = 10.0
"""Height of the words at the ends, where the page shows the bar about as wide as its units."""


@dataclass(frozen=True, slots=True)
class Bar:
    """What one bar shows: deviations from nominal and limits in one unit, any of it."""

    deviation: float
    expanded_uncertainty: float
    lower: float | None
    upper: float | None
    verdict: str
    before: float | None = None
    """Deviation before the repair."""
    left_end: str = ""
    right_end: str = ""
    """What a mark towards that end means, in a word or two; empty without a direction."""
    mirrored: bool = False
    """Whether what is positive stands at the left."""

    @property
    def has_limits(self) -> bool:
        """Without a limit there is no scale, and no bar."""
        return any((self.lower, self.upper))


def tolerance_bar(
    bar: Bar, title: str, *, inks: Inks = PAGE, letter: float = LETTER, shared: bool = False
) -> str:
    """The bar as SVG, `title` saying it in words; empty when no limit sets its scale.

    letter: height of the words at the ends, in parts of the bar's `WIDTH`. With `shared` the
    scale of equal limits on both sides is taken from `shared_scale`, which must be on the page;
    without a title the bar is left to the eye, for rows that say the same in words.
    """
    if not bar.has_limits:
        return ""
    even = bar.upper is not None and bar.lower == -bar.upper
    parts = [svg.element("use", href=f"#{SHARED}") if shared and even else scale(bar, inks)]
    if bar.before is not None:
        parts.append(before_mark(bar, bar.before, inks))
    parts += [uncertainty_mark(bar, inks), value_mark(bar, inks), end_words(bar, inks, letter)]
    height = HEIGHT + (1.05 * letter if bar.left_end or bar.right_end else 0.0)
    return svg.document(parts, title, 0, 0, WIDTH, height)


def shared_scale(inks: Inks = PAGE) -> str:
    """The scale of equal limits on both sides, once for all bars of a page; takes no room."""
    drawn = scale(Bar(0.0, 0.0, -1.0, 1.0, "within"), inks)
    inside = svg.element("g", drawn, id=SHARED)
    return svg.element("svg", inside, width=0.0, height=0.0, aria_hidden="true")


def end_words(bar: Bar, inks: Inks, letter: float) -> str:
    """The words below the two ends."""
    y = HEIGHT + 0.8 * letter
    ends = ((bar.left_end, 0.0, "start"), (bar.right_end, WIDTH, "end"))
    words = "".join(
        svg.element("text", escape(said, quote=False), x=x, y=y, text_anchor=anchor)
        for said, x, anchor in ends
        if said
    )
    if not words:
        return ""
    return svg.element("g", words, font_family=inks.family, font_size=letter, fill=inks.muted)


def place(bar: Bar, deviation: float) -> float:
    """Where a deviation stands on the scale, not yet held within the ends."""
    reach = max(abs(bar.lower or 0.0), abs(bar.upper or 0.0))
    way = -1.0 if bar.mirrored else 1.0
    return NOMINAL + way * LIMIT_AT * deviation / reach


def held(x: float) -> float:
    """The place, held within the ends of the bar."""
    return min(max(x, EDGE), WIDTH - EDGE)


def scale(bar: Bar, inks: Inks) -> str:
    """The line, nominal, the limits as ticks and the tint between them."""
    limits = [None if one is None else place(bar, one) for one in (bar.lower, bar.upper)]
    left, right = reversed(limits) if bar.mirrored else limits
    low, high = 0.0 if left is None else left, WIDTH if right is None else right
    tint = svg.element(
        "rect", x=low, y=3, width=high - low, height=HEIGHT - 6, fill=inks.within,
        fill_opacity=0.12, class_="tint",
    )  # fmt: skip
    line = [((0.0, MIDDLE), (WIDTH, MIDDLE)), ((NOMINAL, MIDDLE - 4), (NOMINAL, MIDDLE + 4))]
    base = svg.strokes(line, stroke=inks.reference, stroke_width=0.8, class_="reference")
    ticks = svg.strokes(
        [((x, 1.0), (x, HEIGHT - 1)) for x in limits if x is not None],
        stroke=inks.ink, stroke_width=1.6, class_="limit",
    )  # fmt: skip
    return tint + base + ticks


def before_mark(bar: Bar, before: float, inks: Inks) -> str:
    """A small open ring, or an open arrow head at the end when it lies beyond."""
    x = place(bar, before)
    if x != held(x):
        return beyond(x, inks, "none", inks.muted)
    return svg.circle(
        (x, MIDDLE), 3.2, fill=inks.paper, stroke=inks.muted, stroke_width=1.3, class_="before"
    )


def uncertainty_mark(bar: Bar, inks: Inks) -> str:
    """The expanded uncertainty: a line; a hatched band when nothing can be decided."""
    x = place(bar, bar.deviation)
    half = abs(place(bar, bar.expanded_uncertainty) - NOMINAL)
    low, high = held(x - half), held(x + half)
    colour = inks.of_verdict(bar.verdict)
    if high <= low:
        return ""
    if bar.verdict == "undecided":
        return hatched(low, high, held(x), colour)
    return svg.line(
        (low, MIDDLE), (high, MIDDLE), stroke=colour, stroke_width=2.4, class_=bar.verdict
    )


def hatched(low: float, high: float, value: float, colour: str) -> str:
    """Slanted strokes from low to high, closed by an upright at either end; the dot stays free."""
    top, bottom, slant = MIDDLE - 4.5, MIDDLE + 4.5, 4.0
    strokes = []
    x = low - slant
    while x < high:
        start, end = max(x, low), min(x + slant, high)
        y_start = bottom + (start - x) / slant * (top - bottom)
        y_end = bottom + (end - x) / slant * (top - bottom)
        if abs((start + end) / 2 - value) > DOT + 2.5:
            strokes.append(((start, y_start), (end, y_end)))
        x += 3.6
    strokes += [((low, top), (low, bottom)), ((high, top), (high, bottom))]
    return "".join(
        svg.line(a, b, stroke=colour, stroke_width=1.0, class_="undecided") for a, b in strokes
    )


def value_mark(bar: Bar, inks: Inks) -> str:
    """The value: a dot; a hollow diamond when outside; an arrow head beyond the end."""
    x, colour = place(bar, bar.deviation), inks.of_verdict(bar.verdict)
    outside = bar.verdict == "outside"
    fill = inks.paper if outside else colour
    if x != held(x):
        return beyond(x, inks, fill, colour)
    if not outside:
        return svg.circle((x, MIDDLE), DOT, fill=colour, class_=bar.verdict)
    corners = [(x - 5.0, MIDDLE), (x, MIDDLE - 5.0), (x + 5.0, MIDDLE), (x, MIDDLE + 5.0)]
    return svg.polygon(corners, fill=fill, stroke=colour, stroke_width=1.6, class_="outside")


def beyond(x: float, inks: Inks, fill: str, colour: str) -> str:
    """An arrow head at the end of the bar that `x` lies beyond, pointing there."""
    tip, way = (WIDTH - 1.0, 1.0) if x > NOMINAL else (1.0, -1.0)
    foot = tip - way * 7.0
    corners = [(tip, MIDDLE), (foot, MIDDLE - 5.0), (foot, MIDDLE + 5.0)]
    return svg.polygon(corners, fill=fill, stroke=colour, stroke_width=1.4, class_="beyond")
