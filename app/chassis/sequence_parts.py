"""Which parts of a machine a reference asks for, and for which characteristics."""

from collections.abc import Iterable, Iterator, Mapping
from types import MappingProxyType
from typing import NamedTuple

from app.chassis.needs import NEEDED
from app.chassis.senses import family
from app.chassis.survey import Reference, Tolerance

HEAD_KEYS = (
    "head_twist", "head_offset", "axis_distance", "face_position", "head_reach", "head_height",
    "head_angle", "pivot_width",
)  # fmt: skip
"""What is measured where there is no reference."""
SIDES = ("left", "right")
ORDER = (
    "pivot", "pivot_face", "steer_target", "head_face", "head_bore", "level_line", "control",
    "pair", "axis", "axle_face", "rear_axle", "fork_leg", "front_rim", "rear_rim",
)  # fmt: skip
"""The datum first: whatever comes later is worth nothing without it."""
GROUPS: Mapping[str, str] = MappingProxyType(
    {
        "head_face": "head",
        "head_bore": "head",
        "level_line": "points",
        "control": "points",
        "pair": "points",
        "axis": "axes",
        "axle_face": "arm",
        "rear_axle": "arm",
        "fork_leg": "fork",
        "front_rim": "wheels",
        "rear_rim": "wheels",
    }
)
NUMBERS: Mapping[str, tuple[int, int]] = MappingProxyType(
    {
        "head_face": (3, 1),
        "head_bore": (2, 2),
        "axis": (2, 2),
        "fork_leg": (2, 2),
        "front_rim": (4, 3),
        "rear_rim": (4, 3),
    }
)
"""Wanted and least number of points; one where nothing stands here. Three points on the head's
face average its lean; the fourth on a rim shows whether one of them is wrong."""
ENDS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "head_bore": ("lower", "upper"),
        "fork_leg": ("lower", "upper"),
        "axis": ("left", "right"),
    }
)
"""Where along a line its points are taken, far apart."""
BY_SIDE = frozenset({"pivot", "pivot_face", "axle_face", "rear_axle", "fork_leg", "front_rim",
                     "rear_rim"})  # fmt: skip
LEVELLED = frozenset(
    {"pair_roll", "pair_skew", "axis_toe", "axis_twist", "control.x", "control.z", "wheel_lean",
     "wheel_track"}
)  # fmt: skip
"""Families that need the levelling, besides those of the head itself."""
OF_THE_DATUM = frozenset({"datum_roll", "datum_yaw", "datum_shift"})
Place = tuple[str, str | None]


class Part(NamedTuple):
    """A feature with its label (None where any will do), the keys it serves; required: one of
    these has a limit or is required."""

    feature: str
    label: str | None
    keys: tuple[str, ...]
    required: bool


def parts_of(reference: Reference) -> tuple[Part, ...]:
    """What has to be measured, in order."""
    listed = dict(reference.characteristics) or {key: Tolerance() for key in HEAD_KEYS}
    all_required = not reference.characteristics
    serves: dict[Place, list[str]] = {place: [] for place in _always()}
    for key in listed:
        for place in _places(key, reference):
            serves.setdefault(place, []).append(key)
    asked = {key for key, line in listed.items() if all_required or _is_asked(line)}
    always = set(_always())
    return tuple(
        Part(feature, label, tuple(keys), (feature, label) in always or not asked.isdisjoint(keys))
        for (feature, label), keys in sorted(serves.items(), key=_in_order)
    )


def _in_order(entry: tuple[Place, list[str]]) -> tuple[int, str, int]:
    """By feature, name and side; levelling points from the rear, pairs from the left."""
    feature, label = entry[0]
    name, _, side = (label or "").rpartition(".")
    return ORDER.index(feature), name or ("" if side in SIDES else side), int(side == "right")


def _always() -> Iterator[Place]:
    """The chassis carries its own datum."""
    for feature in ("pivot", "pivot_face"):
        for side in SIDES:
            yield feature, side


def _is_asked(line: Tolerance) -> bool:
    has_limit = line.lower is not None or line.upper is not None
    return has_limit or bool(line.required)


def _places(key: str, reference: Reference) -> Iterable[Place]:
    first, *names = key.split(".")
    kind = family(key)
    for any_of in NEEDED.get(kind, ()):
        yield from _named(any_of[0], names)
    if kind in LEVELLED or kind.startswith("head_"):
        yield from _for_levelling(kind, reference)
    if kind in OF_THE_DATUM:
        yield from (("control", name) for name in reference.control_points)
    if first == "arm_length" or first.startswith("axle_"):
        yield from (("axle_face", side) for side in SIDES)


def _named(needed: str, names: list[str]) -> Iterator[Place]:
    """The places that one need of a key stands for, with the names that the key carries."""
    feature, _, label = needed.partition(".")
    if label:
        yield feature, label
    elif feature == "pair":
        yield from (("pair", f"{names[0]}.{side}") for side in SIDES)
    elif feature == "control":
        yield from (("control", name) for name in names if name not in ("x", "y", "z"))
    elif feature == "axis":
        yield "axis", names[0]
    elif feature in BY_SIDE:
        yield from ((feature, side) for side in SIDES)
    else:
        yield feature, None


def _for_levelling(kind: str, reference: Reference) -> Iterator[Place]:
    """What turns the machine level before this can be told."""
    rule = reference.levelling
    if rule == "by_control":
        yield from (("control", name) for name in reference.control_points)
    elif rule == "by_line":
        yield from (("level_line", end) for end in ("rear", "front"))
    elif rule is not None and kind in LEVELLED:
        yield from (("steer_target", None), ("head_face", None))
