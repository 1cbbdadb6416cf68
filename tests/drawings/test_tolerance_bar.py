"""The tolerance bar: where the marks stand, and that every finding has a shape of its own."""

import re
from xml.etree import ElementTree

import pytest

from app.documents.certificate import BAR_LETTER
from app.drawings.inks import PRINT
from app.drawings.tolerance_bar import WIDTH, Bar, shared_scale, tolerance_bar
from app.wording.bar_ends import ENDS, ends

SVG = "{http://www.w3.org/2000/svg}"


def drawn(bar: Bar) -> ElementTree.Element:
    return ElementTree.fromstring(tolerance_bar(bar, "words", inks=PRINT))


def ticks(root: ElementTree.Element) -> list[float]:
    """Where the limits stand: upright strokes."""
    (path,) = [
        node.get("d", "") for node in root.iter(f"{SVG}path") if node.get("class") == "limit"
    ]
    return [float(x) for x in re.findall(r"M([\d.]+) 1V21", path)]


def centre(root: ElementTree.Element, kind: str) -> float:
    """Where the circle of a class stands."""
    return next(
        float(node.get("cx", "")) for node in root.iter(f"{SVG}circle") if node.get("class") == kind
    )


def test_limits_stand_at_a_quarter_and_three_quarters() -> None:
    assert ticks(drawn(Bar(0.0, 0.1, -0.3, 0.3, "within"))) == [50.0, 150.0]
    assert ticks(drawn(Bar(0.0, 0.1, -1.0, 2.0, "within"))) == [75.0, 150.0]


def test_within_is_a_dot_on_a_line_wholly_inside() -> None:
    root = drawn(Bar(0.15, 0.06, -0.3, 0.3, "within"))
    assert centre(root, "within") == pytest.approx(125.0)
    line = next(node for node in root.iter(f"{SVG}line") if node.get("class") == "within")
    assert float(line.get("x1", "")) == pytest.approx(115.0)
    assert float(line.get("x2", "")) == pytest.approx(135.0)


def test_outside_is_a_hollow_diamond_beyond_the_limit() -> None:
    root = drawn(Bar(0.45, 0.06, -0.3, 0.3, "outside"))
    diamond = next(node for node in root.iter(f"{SVG}polygon"))
    xs = [float(pair.split(",")[0]) for pair in diamond.get("points", "").split()]
    assert min(xs) + max(xs) == pytest.approx(2 * 175.0)
    assert diamond.get("fill") == PRINT.paper
    assert not list(root.iter(f"{SVG}circle"))


def test_undecided_is_hatched_across_the_limit() -> None:
    root = drawn(Bar(0.3, 0.12, -0.3, 0.3, "undecided"))
    strokes = [node for node in root.iter(f"{SVG}line") if node.get("class") == "undecided"]
    xs = [float(node.get(key, "")) for node in strokes for key in ("x1", "x2")]
    assert min(xs) == pytest.approx(130.0)
    assert max(xs) == pytest.approx(170.0)
    assert len(strokes) > 5


def test_before_is_a_small_open_ring_on_the_same_bar() -> None:
    root = drawn(Bar(0.0, 0.06, -0.3, 0.3, "within", before=-0.45))
    assert centre(root, "before") == pytest.approx(25.0)
    assert centre(root, "within") == pytest.approx(100.0)


@pytest.mark.parametrize(("deviation", "tip"), [(9.0, 199.0), (-9.0, 1.0)])
def test_what_lies_beyond_the_bar_is_an_arrow_head_at_its_end(deviation: float, tip: float) -> None:
    root = drawn(Bar(deviation, 0.06, -0.3, 0.3, "outside"))
    beyond = next(node for node in root.iter(f"{SVG}polygon") if node.get("class") == "beyond")
    assert float(beyond.get("points", "").split(",")[0]) == tip


def test_one_sided_tolerance_is_tinted_to_the_end() -> None:
    root = drawn(Bar(0.2, 0.1, None, 1.0, "within"))
    tint = next(root.iter(f"{SVG}rect"))
    assert (float(tint.get("x", "")), float(tint.get("width", ""))) == (0.0, 150.0)
    assert ticks(root) == [150.0]


def test_without_limits_there_is_no_bar() -> None:
    assert tolerance_bar(Bar(0.2, 0.1, None, None, "no_tolerance"), "words") == ""


def test_title_is_escaped() -> None:
    drawing = tolerance_bar(Bar(0.2, 0.1, -1.0, 1.0, "within"), "a < b & c")
    assert ElementTree.fromstring(drawing)[0].text == "a < b & c"


def words(root: ElementTree.Element) -> dict[str, tuple[str, str]]:
    """Visible text with where it stands and to which side it grows."""
    return {
        node.text or "": (node.get("x", ""), node.get("text-anchor", ""))
        for node in root.iter(f"{SVG}text")
    }


def test_the_ends_are_named_below_the_bar() -> None:
    plain = drawn(Bar(0.1, 0.05, -1.0, 2.0, "within"))
    root = drawn(Bar(0.1, 0.05, -1.0, 2.0, "within", left_end="lower", right_end="higher"))
    assert words(plain) == {}
    assert words(root) == {"lower": ("0", "start"), "higher": ("200", "end")}
    height, plain_height = (float(one.get("viewBox", "").split()[3]) for one in (root, plain))
    assert height > plain_height
    assert ticks(root) == ticks(plain)


def test_of_a_mirrored_bar_what_is_positive_stands_at_the_left() -> None:
    bar = Bar(1.0, 0.1, -1.0, 2.0, "within", -0.5, "left", "right", mirrored=True)
    root = drawn(bar)
    assert sorted(ticks(root)) == [50.0, 125.0]
    assert centre(root, "within") == pytest.approx(75.0)
    assert centre(root, "before") == pytest.approx(112.5)
    tint = next(root.iter(f"{SVG}rect"))
    assert (float(tint.get("x", "")), float(tint.get("width", ""))) == (50.0, 75.0)


def test_a_mirrored_one_sided_tolerance_is_tinted_to_the_other_end() -> None:
    root = drawn(Bar(0.2, 0.1, None, 1.0, "within", mirrored=True))
    tint = next(root.iter(f"{SVG}rect"))
    assert (float(tint.get("x", "")), float(tint.get("width", ""))) == (50.0, 150.0)
    assert ticks(root) == [50.0]


@pytest.mark.parametrize("family", sorted(ENDS))
def test_the_words_of_both_ends_fit_below_the_narrowest_print(family: str) -> None:
    """The certificate's face is about half as wide as high; the two words keep a gap."""
    found = ends(family)
    assert 0.53 * BAR_LETTER * (len(found.left) + len(found.right) + 1) <= WIDTH


def test_bars_of_one_page_may_share_the_scale_of_equal_limits() -> None:
    even, uneven = Bar(0.1, 0.05, -0.3, 0.3, "within"), Bar(0.1, 0.05, -0.3, 0.6, "within")
    own = tolerance_bar(even, "")
    shared = ElementTree.fromstring(tolerance_bar(even, "", shared=True))
    (use,) = shared.iter("use")
    scale = ElementTree.fromstring(shared_scale())
    assert use.get("href") == f"#{scale[0].get('id')}"
    drawn = "".join(ElementTree.tostring(one, "unicode") for one in scale[0])
    assert drawn.replace(" />", "/>") in own
    assert tolerance_bar(uneven, "", shared=True) == tolerance_bar(uneven, "")


def test_a_bar_whose_row_says_it_all_is_left_to_the_eye() -> None:
    bar = Bar(0.1, 0.05, -0.3, 0.3, "within")
    hidden = ElementTree.fromstring(tolerance_bar(bar, ""))
    assert hidden.get("aria-hidden") == "true"
    assert not list(hidden.iter("title"))
    assert drawn(bar).get("role") == "img"
