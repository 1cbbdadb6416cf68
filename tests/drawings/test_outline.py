"""The three views: what moves in the input moves in the drawing, by the stated factor."""

import itertools
import re
from xml.etree import ElementTree

import pytest

from app.drawings.deviations import labels
from app.drawings.inks import PAGE
from app.drawings.legend import SIGN
from app.drawings.outline import ThreeViews, three_views
from app.drawings.scene import set_scene
from app.schemas.result import OutlineOut
from tests.drawings.frames import element, fork_without_reference, frame, outline, wheel, whole

SVG = "{http://www.w3.org/2000/svg}"


def arrows(drawing: str) -> list[tuple[float, float]]:
    """Length across and down of every arrow of deviation."""
    lines = ElementTree.fromstring(drawing).iter(f"{SVG}line")
    return [
        (
            float(line.get("x2", "")) - float(line.get("x1", "")),
            float(line.get("y2", "")) - float(line.get("y1", "")),
        )
        for line in lines
        if line.get("class") == "accent"
    ]


def words(drawing: str) -> list[str]:
    """All visible text."""
    return [node.text or "" for node in ElementTree.fromstring(drawing).iter(f"{SVG}text")]


def box(drawing: str) -> tuple[float, ...]:
    """The view box: left, top, width, height."""
    return tuple(map(float, ElementTree.fromstring(drawing).get("viewBox", "").split()))


@pytest.mark.parametrize("exaggeration", [None, 1, 7])
def test_head_moved_back_10_mm_is_drawn_back_10_mm_times_the_exaggeration(
    exaggeration: int | None,
) -> None:
    views = three_views(outline(back=10.0), exaggeration=exaggeration)
    expected = (-10.0 * views.exaggeration, 0.0)
    for drawing in (views.side, views.above):
        assert arrows(drawing) == [pytest.approx(expected, abs=2e-3)] * 2
    assert arrows(views.behind) == []
    assert words(views.side).count("10.0 mm back") == 2


def test_head_moved_left_is_drawn_up_from_above_and_to_the_left_from_behind() -> None:
    views = three_views(outline(left=10.0), exaggeration=5)
    assert arrows(views.above) == [pytest.approx((0.0, -50.0))] * 2
    assert arrows(views.behind) == [pytest.approx((-50.0, 0.0))] * 2
    assert arrows(views.side) == []
    assert "10.0 mm left" in words(views.behind)


def test_head_moved_down_is_drawn_down() -> None:
    views = three_views(outline(up=-4.0), exaggeration=2)
    assert arrows(views.side) == [pytest.approx((0.0, 8.0))] * 2
    assert arrows(views.behind) == [pytest.approx((0.0, 8.0))] * 2
    assert "4.0 mm down" in words(views.side)


def test_the_measured_axis_stands_where_the_arrow_points() -> None:
    views = three_views(outline(back=10.0), exaggeration=3)
    measured = [
        node
        for node in ElementTree.fromstring(views.side).iter(f"{SVG}line")
        if node.get("class") == "measured" and node.get("x1") == "530"
    ]
    assert measured, "the lower end of the head belongs at 560 mm less three times 10 mm"


@pytest.mark.parametrize(
    ("back", "factor"), [(0.4, 50), (1.5, 50), (1.7, 50), (3.0, 20), (6.2, 10), (60.0, 1)]
)
def test_exaggeration_fits_the_largest_deviation_and_is_stated(back: float, factor: int) -> None:
    """The drawing is 560 mm long: at most 16 % of it, 89.6 mm, may be deviation."""
    views = three_views(outline(back=back))
    assert views.exaggeration == factor
    stated = "at true size" if factor == 1 else f"Deviations drawn {factor} times."
    for drawing in (views.side, views.above, views.behind, views.sheet):
        assert any(stated in text for text in words(drawing))


def test_exaggeration_is_chosen_for_before_and_after_together() -> None:
    both = three_views(outline(back=0.3), outline(back=6.2))
    assert both.exaggeration == three_views(outline(back=6.2)).exaggeration


def test_views_share_one_scale_and_line_up() -> None:
    views = three_views(outline(back=6.0, left=3.0, up=2.0))
    side, above, behind = box(views.side), box(views.above), box(views.behind)
    assert (side[0], side[2]) == (above[0], above[2]), "side and above share lengths"
    assert (side[1], side[3]) == (behind[1], behind[3]), "side and behind share heights"
    moves = re.findall(r'transform="translate\(([-\d.]+) ([-\d.]+)\)"', views.sheet)
    behind_move, above_move = moves
    assert behind_move[1] == "0", "behind stands beside the side view"
    assert above_move[0] == "0", "above stands under the side view"


def test_before_is_dotted_reference_dashed_and_each_is_named() -> None:
    views = three_views(outline(back=0.3), outline(back=6.2))
    assert {"reference", "measured before", "measured after"} <= set(words(views.sheet))
    assert 'class="before"' in views.sheet
    alone = three_views(outline(back=0.3)).sheet
    assert 'class="before"' not in alone
    assert "measured" in words(alone)


def test_compass_names_the_directions_of_each_view() -> None:
    views = three_views(outline())
    assert {"forward", "up"} <= set(words(views.side))
    assert {"forward", "left"} <= set(words(views.above))
    assert {"left", "up"} <= set(words(views.behind))


def test_no_reference_outline_is_said_and_nothing_is_exaggerated() -> None:
    bare: OutlineOut = {"measured": frame(), "reference": [], "levelled": False}
    views = three_views(bare)
    assert views.exaggeration == 1
    assert arrows(views.sheet) == []
    assert any("no reference outline" in text for text in words(views.side))
    assert any("Not levelled" in text for text in words(views.side))


def test_nothing_measured_still_gives_a_drawing() -> None:
    empty: OutlineOut = {"measured": [], "reference": [], "levelled": False}
    assert ElementTree.fromstring(three_views(empty).sheet).tag == f"{SVG}svg"


def test_a_wheel_is_a_circle_from_the_side_and_a_line_from_above() -> None:
    wheel = element("rear_wheel", "circle", (-500.0, 0.0, 0.0), (0.0, 1.0, 0.0))
    wheel["radius"] = 310.0
    seen: OutlineOut = {"measured": [*frame(), wheel], "reference": [], "levelled": True}
    views = three_views(seen)
    rims = [
        [tuple(map(float, pair.split(","))) for pair in node.get("points", "").split()]
        for drawing in (views.side, views.above)
        for node in ElementTree.fromstring(drawing).iter(f"{SVG}polygon")
        if node.get("class") == "measured"
    ]
    from_side, from_above = rims
    assert all(abs((x + 500.0) ** 2 + y**2 - 310.0**2) < 1.0 for x, y in from_side)
    assert {y for _x, y in from_above} == {0.0}
    assert min(x for x, _y in from_above) == pytest.approx(-810.0)


def all_drawings(views: ThreeViews) -> list[str]:
    return [views.side, views.above, views.behind, views.sheet]


def test_drawings_use_presentation_attributes_only_and_a_title_as_direct_child() -> None:
    for drawing in all_drawings(three_views(outline(back=2.0), outline(back=8.0))):
        root = ElementTree.fromstring(drawing)
        assert root[0].tag == f"{SVG}title"
        assert root[0].text
        assert not [node for node in root.iter() if node.get("style") or node.tag.endswith("style")]
        for node in root.iter(f"{SVG}text"):
            assert node.get("font-family")
            assert node.get("font-size")


def test_of_a_whole_machine_each_view_tells_the_largest_shifts_by_name() -> None:
    views = three_views(whole(back=6.2, by=3.0))
    assert {"head face", "steering head, upper end", "front wheel"} <= set(words(views.sheet))
    assert "6.2 mm back, 1.6 mm up" in words(views.sheet)
    told = [text for text in words(views.side) if re.match(r"\d  ", text)]
    assert told[0].startswith("1  ")
    assert "head face: 6.2 mm back, 1.6 mm up" in " ".join(told)
    assert len(told) == 4
    assert "Words at the largest arrows only." in words(views.side)


def test_no_line_ends_within_the_words_of_one_shift() -> None:
    views = three_views(outline_of_head_and_fork())
    for drawing in all_drawings(views):
        for text in words(drawing):
            if re.search(r"\d\.\d", text):
                assert re.search(r"mm (forward|back|left|right|up|down),?$", text), text
    assert "7.0 mm up" in words(views.side), "the line above was too short for it"


def outline_of_head_and_fork() -> OutlineOut:
    """The upper end's words are longer than one line of the list."""
    seen = outline(back=10.3, up=7.0)
    fork = element("fork_left", "segment", (530.0, 105.0, 480.0), (720.0, 105.0, 30.0))
    bent = element("fork_left", "segment", (529.0, 105.0, 480.0), (720.0, 105.0, 30.0))
    return {
        **seen,
        "measured": [*seen["measured"], bent],
        "reference": [*seen["reference"], fork],
    }


def test_the_numbers_at_the_arrows_are_those_of_the_list() -> None:
    views = three_views(whole(back=6.2, by=3.0))
    for drawing in (views.side, views.above, views.behind):
        listed = [text.split("  ")[0] for text in words(drawing) if re.match(r"\d  ", text)]
        assert sorted(text for text in words(drawing) if text.isdigit()) == listed


def test_a_wheels_arrow_starts_at_its_centre_and_its_normal_is_no_place() -> None:
    seen: OutlineOut = {
        "measured": [wheel("front_wheel", (790.0, 0.0, -60.0), (0.0, 0.8, 0.6), 216.0)],
        "reference": [wheel("front_wheel", (800.0, 0.0, -60.0), (0.0, 1.0, 0.0), 216.0)],
        "levelled": True,
    }
    views = three_views(seen, exaggeration=2)
    assert arrows(views.side) == [pytest.approx((-20.0, 0.0))]
    (rim,) = [
        [tuple(map(float, pair.split(","))) for pair in node.get("points", "").split()]
        for node in ElementTree.fromstring(views.side).iter(f"{SVG}polygon")
        if node.get("class") == "measured"
    ]
    # However far the lean is exaggerated, the rim keeps its radius where the normal turns about X.
    assert max(x for x, _y in rim) - min(x for x, _y in rim) == pytest.approx(432.0, abs=0.1)


def test_a_drawing_holds_all_its_words() -> None:
    """Letters of a wide face are on average not more than 0.6 as wide as they are high."""
    for views in (
        three_views(whole(6.2, 3.0)),
        three_views(whole(0.6, 0.4), whole(6.2, 3.0)),
        three_views(outline(back=10.1, left=2.3, up=0.1, levelled=False)),
        three_views(outline(back=-10.1, levelled=False)),
        three_views(fork_without_reference(back=6.0)),
    ):
        for drawing in all_drawings(views):
            left, top, width, height = box(drawing)
            for node in ElementTree.fromstring(drawing).iter(f"{SVG}text"):
                size = float(node.get("font-size", ""))
                x, y = float(node.get("x", "")), float(node.get("y", ""))
                assert top <= y - 0.8 * size
                assert y <= top + height
                if node.get("text-anchor") is None:
                    assert x + SIGN * size * len(node.text or "") <= left + width + 0.01


def test_labels_of_one_view_do_not_overlap() -> None:
    scene = set_scene(whole(6.2, 3.0), None, PAGE, None)
    for view in ("side", "above", "behind"):
        found = labels(view, scene)
        assert len(found) == 4
        for upper, lower in itertools.pairwise(found):
            assert lower.top >= upper.top + 1.2 * scene.letter * len(upper.lines)


def test_pairs_are_lines_across_and_control_points_crosses() -> None:
    views = three_views(whole())
    assert "Crosses: control points." in words(views.sheet)
    assert "Crosses: control points." not in words(three_views(outline()).sheet)
    assert "Fork and front wheel as the steering stood." in words(views.sheet)
    circles = len(list(ElementTree.fromstring(views.above).iter(f"{SVG}circle")))
    assert circles > len(
        list(ElementTree.fromstring(three_views(outline()).above).iter(f"{SVG}circle"))
    )
