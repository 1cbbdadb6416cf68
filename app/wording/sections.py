"""The sections into which the characteristics of a survey are sorted, on screens and on paper."""

from collections.abc import Callable, Iterable
from typing import NamedTuple, TypeVar

from app.wording.translation import _, later

T = TypeVar("T")

TITLES: dict[str, str] = {
    "head": later("Steering head"),
    "datum": later("Pivot and datum"),
    "frame": later("Tail, control points and further axes"),
    "arm": later("Swing arm"),
    "fork": later("Fork"),
    "wheels": later("Wheels"),
}
"""In the order in which they are shown."""

FIRST_PARTS: dict[str, tuple[str, ...]] = {
    "head": (
        "head_twist", "head_offset", "axis_distance", "face_position", "head_reach",
        "head_height", "head_angle", "face_squareness", "bore_runout",
    ),
    "datum": ("pivot_width", "datum_roll", "datum_yaw", "datum_shift"),
    "frame": (
        "pair_offset", "pair_roll", "pair_skew", "control", "distance", "axis_toe", "axis_twist",
    ),
    "arm": ("arm_length", "axle_toe", "axle_twist", "axle_offset"),
    "fork": (
        "fork_rake", "fork_lean", "fork_offset", "fork_spread", "fork_cross", "fork_spacing",
    ),
    "wheels": ("wheel_lean", "wheel_track", "front_wheel_lean", "front_wheel_offset"),
}  # fmt: skip
"""By the first part of a key, in the order in which they are shown."""

_PLACES = {
    first: (section, place)
    for section, firsts in FIRST_PARTS.items()
    for place, first in enumerate(firsts)
}
_ORDER = {section: place for place, section in enumerate(TITLES)}
_KINDS = ("pair", "control", "distance", "axis")
"""What the section of the frame sets one after the other."""
_UNKNOWN = ("frame", 0)


class Section(NamedTuple):
    """Code and title of a section."""

    code: str
    title: str


def section_of(key: str) -> str:
    """Return the code of the section to which a characteristic belongs."""
    return _PLACES.get(key.partition(".")[0], _UNKNOWN)[0]


def place_of(key: str) -> tuple[int, int, str, int, str]:
    """Return what sorts characteristics: by section; in the frame's by kind and name, so that a
    pair's offset, roll and skew stand together, and so do the axes of a control point."""
    first, _dot, rest = key.partition(".")
    section, place = _PLACES.get(first, _UNKNOWN)
    kind = first.partition("_")[0]
    name = rest.rpartition(".")[0] if first == "control" else rest
    by_kind = _KINDS.index(kind) if section == "frame" and kind in _KINDS else 0
    return _ORDER[section], by_kind, name, place, rest


def sorted_into(items: Iterable[T], key_of: Callable[[T], str]) -> list[tuple[Section, list[T]]]:
    """Return the items by section, in order; sections without any are left out."""
    found: dict[str, list[T]] = {}
    for item in sorted(items, key=lambda one: place_of(key_of(one))):
        found.setdefault(section_of(key_of(item)), []).append(item)
    return [(Section(code, _(TITLES[code])), inside) for code, inside in found.items()]


def handling_title() -> str:
    """Return the title of the figures that are for information only."""
    return _("Handling, for information only")
