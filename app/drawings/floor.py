"""Where to measure: the machine from its right side and from above, with the next point marked.

Everything but the marks is thin and grey; one unit of the drawing is one millimetre.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from app.drawings import svg
from app.drawings.floor_places import (
    RIM,
    RIM_FRONT,
    RIM_REAR,
    TYRE_FRONT,
    TYRE_REAR,
    Layout,
    places_of,
)
from app.drawings.inks import PAGE, Inks
from app.drawings.places import Place, plus
from app.drawings.projection import Box, project
from app.drawings.svg import Point
from app.wording import elements, labels
from app.wording.translation import _

LETTER = 84.0
EDGE = 60.0
THIN, FIRM, BOLD = 9.0, 16.0, 22.0
RING, DOT, REACHED = 66.0, 22.0, 120.0
"""The mark of the next point: ring, dot, and how far its cross reaches."""
NAME_BESIDE = REACHED + 20.0
BAR = 330.0
"""Half the width of the handlebar."""
TAIL = ((-430.0, 0.0, 380.0), 95.0)

Pen = dict[str, svg.Attribute]


@dataclass(frozen=True, slots=True)
class Mark:
    """A place to measure."""

    feature: str
    label: str | None
    points: int = 1
    taken: bool = False
    """Small and filled: already measured."""
    end: str | None = None
    """Which end of a line: `lower`, `upper`, `left`, `right`."""


def where(
    plan: Layout, marks: Sequence[Mark], turn_deg: float | None = None, inks: Inks = PAGE
) -> str:
    """The drawing as SVG. turn_deg: how far the steering is turned, to the left positive."""
    boxes = {view: box_of(view, plan) for view in ("side", "above")}
    side, above = boxes["side"], boxes["above"]
    down = side.bottom - above.top
    content = [
        *machine("side", plan, turn_deg, inks),
        *words_beside(side, inks),
        *(d for one in in_order(marks) for d in marked("side", plan, one, turn_deg, inks)),
        svg.element(
            "g",
            "".join(
                [
                    *machine("above", plan, turn_deg, inks),
                    *hands(above, inks),
                    *(
                        d
                        for one in in_order(marks)
                        for d in marked("above", plan, one, turn_deg, inks)
                    ),
                ]
            ),
            transform=f"translate(0 {svg.number(down)})",
        ),
    ]
    height = side.height + above.height
    return svg.document(content, spoken(marks), side.left, side.top, side.width, height)


def in_order(marks: Sequence[Mark]) -> list[Mark]:
    """What is still to be measured lies on top."""
    return sorted(marks, key=lambda mark: not mark.taken)


def spoken(marks: Sequence[Mark]) -> str:
    """What is marked, for those who cannot see it."""
    named = [name_of(mark) for mark in marks if not mark.taken] or [name_of(m) for m in marks]
    return _("Where to measure: {places}").format(places="; ".join(named) or _("nothing is marked"))


def name_of(mark: Mark) -> str:
    """The feature with its label."""
    parts = [
        _(elements.ENDS[n]) if n in elements.ENDS else labels.named(n)
        for n in (mark.label, mark.end)
        if n
    ]
    return ", ".join([labels.feature(mark.feature), *parts])


def box_of(view: str, plan: Layout) -> Box:
    """Room for the whole machine; both views are equally long, so that they line up."""
    front, rear = plan.front_wheel, plan.axle
    left = rear[0] - TYRE_REAR - EDGE
    right = front[0] + TYRE_FRONT + EDGE
    if view == "above":
        half = BAR + EDGE + LETTER
        return Box(left, -half, right, half)
    top = max(bar_middle(plan)[2] + REACHED, TAIL[0][2] + 1.5 * LETTER) + EDGE
    lowest = min(front[2] - TYRE_FRONT, rear[2] - TYRE_REAR) - EDGE
    return Box(left, -top, right, -lowest)


def machine(view: str, plan: Layout, turn_deg: float | None, inks: Inks) -> Iterator[str]:
    """The chassis: frame, arm, fork and bar firm; wheels thin."""
    thin: Pen = {"stroke": inks.reference, "stroke_width": THIN, "class_": "reference"}
    firm: Pen = {"stroke": inks.muted, "stroke_width": FIRM, "class_": "muted"}
    for middle, tyre, half in wheels(plan):
        yield from wheel(view, middle, tyre, half, thin)
    for chain in frame(view, plan):
        seen = [project(view, place) for place in chain]
        yield svg.polyline(seen, fill="none", stroke_linejoin="round", **firm)
    yield svg.line(*(project(view, one) for one in bar(plan, turn_deg or 0.0)), **firm)
    yield from axis_ends(view, plan, thin)


def wheels(plan: Layout) -> tuple[tuple[Place, float, float], ...]:
    """Middle, radius and half width of front and rear wheel."""
    return (
        (plan.front_wheel, TYRE_FRONT, RIM_FRONT / 2),
        (plan.axle, TYRE_REAR, RIM_REAR / 2),
    )


def wheel(view: str, middle: Place, tyre: float, half: float, pen: Pen) -> Iterator[str]:
    """A wheel: two circles from the side, a narrow box from above."""
    at = project(view, middle)
    if view == "side":
        yield svg.circle(at, tyre, fill="none", **pen)
        yield svg.circle(at, RIM * tyre, fill="none", **pen)
        return
    corners = [
        (at[0] + a * tyre, at[1] + b * half) for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
    yield svg.polygon(corners, fill="none", stroke_linejoin="round", **pen)


def frame(view: str, plan: Layout) -> Iterator[tuple[Place, ...]]:
    """Chains of places that are drawn through: head, spars, tail, arm, fork."""
    low, high = plan.on_axis(0.0), plan.on_axis(plan.head_mm)
    yield (low, high)
    end, half_tail = TAIL
    sides = (1.0,) if view == "side" else (1.0, -1.0)
    for way in sides:
        wide = (0.0, way * plan.half_width, 0.0)
        pivot = plus((0.0, 0.0, 0.0), wide)
        knee = plus((0.28 * plan.head[0], 0.0, 0.62 * plan.head[2]), wide)
        yield (plan.on_axis(0.75 * plan.head_mm), knee, pivot, plan.on_axis(0.15 * plan.head_mm))
        yield (knee, plus(end, (0.0, way * half_tail, 0.0)))
        yield (
            plus((0.0, 0.0, 0.0), (0.0, way * (plan.half_width - 30.0), 0.0)),
            plus(plan.axle, (0.0, way * 95.0, 0.0)),
        )
        yield (
            plus(high, (0.0, way * 100.0, 0.0)),
            plus(plan.front_wheel, (0.0, way * 100.0, 0.0)),
        )


def bar_middle(plan: Layout) -> Place:
    """Where the handlebar stands on the steering axis."""
    return plan.on_axis(plan.head_mm + 70.0)


def bar(plan: Layout, turn_deg: float) -> tuple[Place, Place]:
    """The ends of the handlebar, turned about the upright; from the side it is a short stroke."""
    turn = math.radians(turn_deg)
    middle = bar_middle(plan)
    back, aside = BAR * math.sin(turn), BAR * math.cos(turn)
    return plus(middle, (-back, aside, 0.0)), plus(middle, (back, -aside, 0.0))


def axis_ends(view: str, plan: Layout, pen: Pen) -> Iterator[str]:
    """Pivot axis and rear axle: rings from the side, lines across from above."""
    for middle, half in (((0.0, 0.0, 0.0), plan.half_width + 25.0), (plan.axle, 125.0)):
        if view == "side":
            yield svg.circle(project(view, middle), 26.0, fill="none", **pen)
        else:
            ends = [project(view, plus(middle, (0.0, way * half, 0.0))) for way in (1.0, -1.0)]
            yield svg.line(*ends, **pen)


def words_beside(box: Box, inks: Inks) -> Iterator[str]:
    """The direction of view, and an arrow that says where forward is."""
    at = (box.left + EDGE, box.top + LETTER)
    yield svg.text(at, _("Seen from the right side"), LETTER, inks, fill=inks.muted, class_="muted")
    x, y = (box.left + box.right) / 2 - 3.0 * LETTER, box.bottom - LETTER
    yield svg.arrow((x, y), (x + 2.0 * LETTER, y), 46.0, inks.muted, THIN)
    beside = (x + 2.3 * LETTER, y + 0.32 * LETTER)
    yield svg.text(beside, _("forward"), LETTER, inks, fill=inks.muted, class_="muted")


def hands(box: Box, inks: Inks) -> Iterator[str]:
    """Which side is left: words above and below the view from above."""
    x = box.left + EDGE
    above = (x, box.top + LETTER)
    yield svg.text(above, _("Seen from above"), LETTER, inks, fill=inks.muted, class_="muted")
    middle = (box.left + box.right) / 2
    for y, words in ((box.top + LETTER, _("left")), (box.bottom - 0.3 * LETTER, _("right"))):
        yield svg.text(
            (middle, y), words, LETTER, inks, fill=inks.muted, class_="muted", text_anchor="middle"
        )


def marked(
    view: str, plan: Layout, mark: Mark, turn_deg: float | None, inks: Inks
) -> Iterator[str]:
    """The mark at each of its places in one view."""
    for place in places_of(plan, mark.feature, mark.label, mark.points, turn_deg or 0.0, mark.end):
        at = project(view, place)
        if mark.taken:
            yield svg.circle(at, DOT, fill=inks.accent, class_="accent")
        else:
            yield from aim(at, inks, small=mark.points > 1)
        if mark.feature == "steer_target" and mark.label and view == "side":
            beside = (at[0] + NAME_BESIDE, at[1] + 0.35 * LETTER)
            name = labels.named(mark.label)
            yield svg.text(beside, name, LETTER, inks, fill=inks.ink, class_="ink")


def aim(at: Point, inks: Inks, *, small: bool) -> Iterator[str]:
    """A ring with a dot in it; a single one has a cross that reaches beyond the ring."""
    pen: Pen = {"stroke": inks.accent, "class_": "accent"}
    ring = RING * (0.55 if small else 1.0)
    yield svg.circle(at, ring, fill="none", stroke_width=BOLD if not small else FIRM, **pen)
    yield svg.circle(at, DOT if not small else 0.6 * DOT, fill=inks.accent, class_="accent")
    if small:
        return
    for x, y in ((1, 0), (-1, 0), (0, 1), (0, -1)):
        start = (at[0] + x * ring, at[1] + y * ring)
        yield svg.line(start, (at[0] + x * REACHED, at[1] + y * REACHED), stroke_width=BOLD, **pen)
