"""A drawn signature: every point where the pen was, a dot where it was only set down."""

from xml.etree import ElementTree

from app.drawings.signature import HEIGHT, WIDTH, signature
from app.schemas import signature as schema

SVG = "{http://www.w3.org/2000/svg}"
STROKES = (((100, 200), (300, 100)), ((600, 50),))


def test_strokes_become_lines_and_a_single_point_a_dot() -> None:
    root = ElementTree.fromstring(signature(STROKES, "Signature of Åse <b>"))
    assert root.findtext(f"{SVG}title") == "Signature of Åse <b>"
    assert [line.get("points") for line in root.iter(f"{SVG}polyline")] == ["100,200 300,100"]
    assert [(dot.get("cx"), dot.get("cy")) for dot in root.iter(f"{SVG}circle")] == [("600", "50")]
    assert root.get("viewBox") == "0 0 1000 360"


def test_no_strokes_are_no_drawing() -> None:
    assert signature((), "nobody") == ""


def test_the_drawing_has_the_size_of_the_field_that_is_signed_in() -> None:
    assert (WIDTH, HEIGHT) == (schema.WIDTH, schema.HEIGHT)
