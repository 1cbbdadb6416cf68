"""What the parts of an outline drawing are called."""

from app.wording.labels import named
from app.wording.translation import _, later

NAMES: dict[str, str] = {
    "pivot_axis": later("pivot axis"),
    "face_left": later("left frame face"),
    "face_right": later("right frame face"),
    "steering_axis": later("steering head"),
    "head": later("head face"),
    "arm": later("swing arm"),
    "rear_axle": later("rear axle"),
    "fork_left": later("left fork leg"),
    "fork_right": later("right fork leg"),
    "front_wheel": later("front wheel"),
    "rear_wheel": later("rear wheel"),
}
ENDS: dict[str, str] = {
    "left": later("left"),
    "right": later("right"),
    "front": later("front end"),
    "rear": later("rear end"),
    "upper": later("upper end"),
    "lower": later("lower end"),
}


def name(element: str, end: str = "") -> str:
    """Return what an element is called, with the end of it: `tail rails, left`."""
    first, _dot, rest = element.partition(".")
    called = named(rest) if rest else _(NAMES.get(first, named(first)))
    return _("{name}, {end}").format(name=called, end=_(ENDS[end])) if end else called
