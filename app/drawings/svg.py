"""Elements of SVG as text: presentation attributes only, so that any page policy allows them."""

from collections.abc import Iterable, Sequence
from html import escape

from app.drawings.inks import Inks

Point = tuple[float, float]
Attribute = str | float


def number(value: float) -> str:
    """A coordinate: two decimals at most, no trailing zeros, never a minus zero."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def element(name: str, content: str = "", /, **attributes: Attribute) -> str:
    """One element; `_` in an attribute's name stands for `-`, `class_` for `class`."""
    written = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{text_of(value)}"'
        for key, value in attributes.items()
    )
    return f"<{name}{written}>{content}</{name}>" if content else f"<{name}{written}/>"


def text_of(value: Attribute) -> str:
    """An attribute's value, escaped."""
    return escape(value) if isinstance(value, str) else number(value)


def line(a: Point, b: Point, /, **attributes: Attribute) -> str:
    """A straight line from a to b."""
    return element("line", x1=a[0], y1=a[1], x2=b[0], y2=b[1], **attributes)


def polyline(points: Sequence[Point], /, **attributes: Attribute) -> str:
    """Lines through all points."""
    return element("polyline", points=joined(points), **attributes)


def polygon(points: Sequence[Point], /, **attributes: Attribute) -> str:
    """Lines through all points and back to the first."""
    return element("polygon", points=joined(points), **attributes)


def joined(points: Sequence[Point]) -> str:
    """Points as an attribute's value."""
    return " ".join(f"{number(x)},{number(y)}" for x, y in points)


def strokes(lines: Iterable[tuple[Point, Point]], /, **attributes: Attribute) -> str:
    """Several straight lines as one element."""
    return element("path", d="".join(stroke_of(a, b) for a, b in lines), **attributes)


def stroke_of(a: Point, b: Point) -> str:
    """One straight line of a path: level and upright ones need less."""
    start = f"M{number(a[0])} {number(a[1])}"
    if a[1] == b[1]:
        return f"{start}H{number(b[0])}"
    if a[0] == b[0]:
        return f"{start}V{number(b[1])}"
    return f"{start}L{number(b[0])} {number(b[1])}"


def ellipse(
    centre: Point, radii: tuple[float, float], turn_deg: float, /, **attributes: Attribute
) -> str:
    """An ellipse; its first radius lies turned by `turn_deg` from the right, towards below."""
    about = f"rotate({number(turn_deg)} {number(centre[0])} {number(centre[1])})"
    return element(
        "ellipse", cx=centre[0], cy=centre[1], rx=radii[0], ry=radii[1], transform=about,
        **attributes,
    )  # fmt: skip


def circle(centre: Point, radius: float, /, **attributes: Attribute) -> str:
    """A circle."""
    return element("circle", cx=centre[0], cy=centre[1], r=radius, **attributes)


def text(at: Point, words: str, size: float, inks: Inks, /, **attributes: Attribute) -> str:
    """Words at a point. Family and size stand on the element: a PDF inherits no page style."""
    attributes = {"fill": inks.ink, **attributes}
    return element(
        "text",
        escape(words, quote=False),
        x=at[0],
        y=at[1],
        font_family=inks.family,
        font_size=size,
        **attributes,
    )


def words(
    lines: Iterable[tuple[Point, str]], size: float, inks: Inks, /, **attributes: Attribute
) -> str:
    """Several pieces of text in one pen; nothing where there are none."""
    written = "".join(
        element("text", escape(said, quote=False), x=at[0], y=at[1]) for at, said in lines
    )
    if not written:
        return ""
    attributes = {"fill": inks.ink, **attributes}
    return element("g", written, font_family=inks.family, font_size=size, **attributes)


def arrow(a: Point, b: Point, head: float, colour: str, width: float, class_: str = "muted") -> str:
    """An arrow from a to b; its head is `head` long, or half of a shorter arrow."""
    return arrows([(a, b)], head, colour, width, class_)


def arrows(
    ends: Iterable[tuple[Point, Point]], head: float, colour: str, width: float, class_: str
) -> str:
    """Arrows of one kind as one group; nothing where none has a length."""
    drawn = "".join(shaft_and_head(a, b, head) for a, b in ends)
    if not drawn:
        return ""
    return element("g", drawn, stroke=colour, stroke_width=width, fill=colour, class_=class_)


def shaft_and_head(a: Point, b: Point, head: float) -> str:
    """The two parts of an arrow; of none without a length."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    length = (dx * dx + dy * dy) ** 0.5
    if length == 0:
        return ""
    ux, uy = dx / length, dy / length
    reach = min(head, length / 2)
    foot = (b[0] - reach * ux, b[1] - reach * uy)
    half = 0.38 * reach
    sides = [(foot[0] - half * uy, foot[1] + half * ux), (foot[0] + half * uy, foot[1] - half * ux)]
    return line(a, b) + polygon([b, *sides], stroke="none")


def document(
    content: Iterable[str], title: str, left: float, top: float, width: float, height: float
) -> str:
    """A whole drawing. The title is its direct child: readers and tagged PDF take it from there.

    Without a title it is hidden from readers: what it shows stands beside it in words.
    """
    box = " ".join(number(value) for value in (left, top, width, height))
    if not title:
        return element("svg", "".join(content), viewBox=box, aria_hidden="true")
    return element(
        "svg",
        element("title", escape(title, quote=False)) + "".join(content),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=box,
        role="img",
        class_="drawing",
    )
