"""The three views: what moves in the input moves in the drawing, by the stated factor."""

import itertools
import math
import re
from dataclasses import replace
from xml.etree import ElementTree

import pytest

from app.drawings.deviations import MOST_TOLD, labels, omits
from app.drawings.exaggeration import closest_factor, offered_factors
from app.drawings.inks import PAGE
from app.drawings.legend import SIGN
from app.drawings.outline import ThreeViews, three_views
from app.drawings.places import Shape
from app.drawings.projection import VIEWS, corners, project
from app.drawings.scene import set_scene
from app.schemas.result import OutlineOut
from tests.drawings.frames import element, fork_without_reference, frame, outline, wheel, whole

SVG = "{http://www.w3.org/2000/svg}"


def arrows(drawing: str) -> list[tuple[float, float]]:
    """Length across and down of every arrow of deviation."""
    return [
        (
            float(line.get("x2", "")) - float(line.get("x1", "")),
            float(line.get("y2", "")) - float(line.get("y1", "")),
        )
        for line in drawn_as("accent", "line", drawing)
    ]


def drawn_as(kind: str, shape: str, drawing: str) -> list[ElementTree.Element]:
    """The elements of one shape that are drawn with the pen of a kind."""
    groups = ElementTree.fromstring(drawing).iter(f"{SVG}g")
    return [
        node
        for group in groups
        if group.get("class") == kind
        for node in group.iter(f"{SVG}{shape}")
    ]


def words(drawing: str) -> list[str]:
    """All visible text."""
    return [node.text or "" for node in ElementTree.fromstring(drawing).iter(f"{SVG}text")]


def inherited(root: ElementTree.Element) -> list[ElementTree.Element]:
    """All text, each with what the group right round it says of it."""
    for group in root.iter(f"{SVG}g"):
        for node in group.findall(f"{SVG}text"):
            node.attrib.update({**group.attrib, **node.attrib})
    return list(root.iter(f"{SVG}text"))


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
        node for node in drawn_as("measured", "line", views.side) if node.get("x1") == "530"
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
        node
        for node in drawn_as("measured", "circle", views.side)
        if float(node.get("r", "")) > 100.0
    ]
    (from_side,) = rims
    assert [from_side.get(name) for name in ("cx", "cy", "r")] == ["-500", "0", "310"]
    ends = [
        (node.get("x1"), node.get("x2"), node.get("y1"), node.get("y2"))
        for node in drawn_as("measured", "line", views.above)
    ]
    assert ("-810", "-190", "0", "0") in ends or ("-190", "-810", "0", "0") in ends


def test_a_wheel_that_leans_is_the_ellipse_that_48_points_of_its_rim_lie_on() -> None:
    """Another way to the same rim: points on the circle in space, each projected by itself."""
    normal = (0.3, 0.8, math.sqrt(1.0 - 0.3**2 - 0.8**2))
    rim = wheel("front_wheel", (790.0, 4.0, -60.0), normal, 216.0)
    views = three_views({"measured": [rim], "reference": [], "levelled": True})
    circle = Shape("front_wheel", "circle", ((790.0, 4.0, -60.0), normal), 216.0)
    for view, drawing in zip(VIEWS, (views.side, views.above, views.behind), strict=True):
        (node,) = drawn_as("measured", "ellipse", drawing)
        cx, cy, rx, ry = (float(node.get(name, "")) for name in ("cx", "cy", "rx", "ry"))
        turn = math.radians(float(node.get("transform", "")[7:].split()[0]))
        for x, y in (project(view, place) for place in corners(circle)):
            along = (x - cx) * math.cos(turn) + (y - cy) * math.sin(turn)
            across = (y - cy) * math.cos(turn) - (x - cx) * math.sin(turn)
            assert (along / rx) ** 2 + (across / ry) ** 2 == pytest.approx(1.0, abs=1e-3)


def all_drawings(views: ThreeViews) -> list[str]:
    return [views.side, views.above, views.behind, views.sheet]


def test_drawings_use_presentation_attributes_only_and_a_title_as_direct_child() -> None:
    for drawing in all_drawings(three_views(outline(back=2.0), outline(back=8.0))):
        root = ElementTree.fromstring(drawing)
        assert root[0].tag == f"{SVG}title"
        assert root[0].text
        assert not [node for node in root.iter() if node.get("style") or node.tag.endswith("style")]
        for node in inherited(root):
            assert node.get("font-family")
            assert float(node.get("font-size", "")) > 0


def test_of_a_whole_machine_each_view_tells_the_largest_shifts_by_name() -> None:
    views = three_views(whole(back=6.2, by=3.0), listed=MOST_TOLD)
    assert {"head face", "steering head, upper end", "front wheel"} <= set(words(views.sheet))
    assert "6.2 mm back, 1.6 mm up" in words(views.sheet)
    told = [text for text in words(views.side) if re.match(r"\d  ", text)]
    assert told[0].startswith("1  ")
    assert "head face: 6.2 mm back, 1.6 mm up" in " ".join(told)
    assert len(told) == 8
    assert "Words at the largest arrows only." in words(views.sheet)
    assert "Words at the largest arrows only." not in words(views.side), "there all have words"


def test_small_shifts_beside_a_large_one_get_no_words_beyond_the_first_four() -> None:
    views = three_views(whole(40.0, 0.6), listed=MOST_TOLD)
    told = [text for text in words(views.side) if re.match(r"\d  ", text)]
    assert len(told) == 4
    assert "40.0 mm back" in " ".join(told)


def test_a_high_view_has_room_for_more_words_than_a_low_one() -> None:
    scene = set_scene(whole(6.2, 3.0), None, PAGE, None)
    high = replace(scene, letter=scene.letter / 3)
    assert len(labels("side", scene)) == 4
    assert len(labels("side", high)) == 8
    assert omits("side", scene, None)


def test_single_views_may_take_their_shapes_from_the_sheet() -> None:
    alone = three_views(whole(6.2, 3.0), whole(9.0, 2.0))
    shared = three_views(whole(6.2, 3.0), whole(9.0, 2.0), shared="one")
    for view in VIEWS:
        (use,) = ElementTree.fromstring(getattr(shared, view)).iter(f"{SVG}use")
        assert use.get("href") == f"#one-{view}"
        places = [
            node
            for node in ElementTree.fromstring(shared.sheet).iter()
            if node.get("id") == f"one-{view}"
        ]
        assert len(places) == 1
        assert set(words(getattr(shared, view))) <= set(words(getattr(alone, view)))
    assert words(shared.side) == words(alone.side)
    assert "Deviations drawn 20 times." in words(shared.above)
    assert "reference" not in words(shared.above), "the side view above it says so"
    assert arrows(shared.side) == []
    assert arrows(shared.sheet) == arrows(alone.sheet)
    assert "id=" not in alone.sheet + alone.side


def test_during_is_drawn_behind_after_with_a_line_of_its_own() -> None:
    views = three_views(outline(back=0.3), outline(back=6.2), during=outline(back=3.0))
    assert {"measured before", "measured during the correction", "measured after"} <= set(
        words(views.sheet)
    )
    assert len(drawn_as("during", "line", views.side)) == len(
        drawn_as("before", "line", views.side)
    )
    unfinished = three_views(outline(back=3.0), outline(back=6.2), phase="during")
    assert "measured during the correction" in words(unfinished.sheet)
    assert "measured after" not in words(unfinished.sheet)


def test_factors_are_offered_as_far_as_the_drawing_can_be_read() -> None:
    """The drawing is 560 mm long: with 6.2 mm, 20 times is 124 mm and 50 times is over half."""
    seen = [outline(back=6.2)]
    assert offered_factors(seen) == (1, 2, 5, 10, 20)
    assert [closest_factor(asked, seen) for asked in (-3, 1, 7, 8, 15, 999)] == [
        1,
        1,
        5,
        10,
        10,
        20,
    ]
    assert offered_factors([outline(back=0.4)])[-1] == 200
    bare: OutlineOut = {"measured": frame(), "reference": [], "levelled": True}
    assert offered_factors([bare]) == (1,)


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
    (rim,) = drawn_as("measured", "ellipse", views.side)
    # However far the lean is exaggerated, the rim keeps its radius where the normal turns about X.
    assert rim.get("rx") == "216"
    assert rim.get("transform", "").startswith("rotate(0 ")


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
            for node in inherited(ElementTree.fromstring(drawing)):
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
