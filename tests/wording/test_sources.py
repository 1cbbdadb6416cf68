"""Every source of uncertainty has its name, and words for what would make it smaller."""

import ast

import pytest

from app.chassis.survey import FEATURES
from app.wording import sources
from app.wording.sources import REDUCE, Part
from tests.wording.codes_in_use import ROOT

SHARED = {
    "instrument_offset", "instrument_scale", "temperature", "expansion", "face_squareness",
}  # fmt: skip
"""Causes that the engine names by constants."""


def named_by_the_engine() -> set[str]:
    """The literal names of the runs of inputs."""
    found = set()
    for path in sorted((ROOT / "chassis").rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Run":
                first = node.args[0]
                if isinstance(first, ast.Constant):
                    found.add(str(first.value))
    return found


def test_every_source_of_the_engine_says_what_would_reduce_it() -> None:
    assert {"target_spacing", "wheel_runout"} <= named_by_the_engine()
    assert named_by_the_engine() | FEATURES | SHARED == set(REDUCE)


@pytest.mark.parametrize("source", sorted(REDUCE))
def test_a_source_has_a_name_of_its_own_and_an_advice(source: str) -> None:
    assert sources.name(source) != source
    assert "_" not in sources.name(source)
    assert sources.reduce(source)[0].islower()
    assert not sources.reduce(source).endswith(".")


def test_the_part_behind_a_source_stands_in_its_name() -> None:
    assert sources.name("expansion.arm") == "how much the metal expands (swing arm)"
    assert sources.name("axis.shock_bolt") == "further axis (shock bolt)"
    assert sources.reduce("axis.shock_bolt") == sources.reduce("axis")


def test_the_pivots_advice_is_that_of_the_trade() -> None:
    assert "longer bar" in sources.reduce("pivot")


def test_a_source_that_nobody_named_is_told_without_advice() -> None:
    assert sources.name("moon_phase") == "moon phase"
    assert sources.reduce("moon_phase") == ""


def test_the_sources_named_in_one_line_make_most_of_the_variance() -> None:
    parts = [Part("axis", 0.02), Part("pivot", 0.6), Part("pair", 0.38)]
    assert sources.leading(parts) == [Part("pivot", 0.6), Part("pair", 0.38)]
    assert sources.leading([Part("pivot", 0.97), Part("pair", 0.03)]) == [Part("pivot", 0.97)]
    even = [Part(name, 0.2) for name in ("pivot", "pair", "axis", "control", "head_face")]
    assert len(sources.leading(even)) == sources.MOST_NAMED
    assert sources.leading([]) == []


def test_advice_is_given_once_for_each_leading_source_the_most_leading_first() -> None:
    found = sources.advice(
        [
            ("head twist", [Part("pivot", 0.1), Part("steer_target", 0.9)]),
            ("head offset", [Part("pivot", 0.7), Part("steer_target", 0.3)]),
            ("arm length", [Part("pivot", 0.6), Part("rear_axle", 0.4)]),
            ("set by levelling", []),
        ]
    )
    assert [one.characteristics for one in found] == [
        ("head offset", "arm length"),
        ("head twist",),
    ]
    assert found[0].reduce == sources.reduce("pivot")
