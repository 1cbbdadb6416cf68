"""The words at the two ends of a tolerance bar: which way a mark to the left of nominal lies.

Where the sense is sideways the bar is turned so that left stands at the left, as on the machine.
"""

from typing import NamedTuple

from app.chassis.senses import family
from app.wording.translation import _, later


class Ends(NamedTuple):
    """Words at the left and the right end; mirrored: what is positive stands at the left."""

    left: str
    right: str
    mirrored: bool = False


_SIDEWAYS = Ends(later("left"), later("right"), mirrored=True)
_HIGH = Ends(later("left high"), later("right high"), mirrored=True)
_BACK = Ends(later("left back"), later("right back"), mirrored=True)
_TURNED = Ends(later("anticlockwise"), later("clockwise"))
_UPWARD = Ends(later("lower"), later("higher"))
_FORWARD = Ends(later("back"), later("forward"))
_LENGTH = Ends(later("shorter"), later("longer"))
_TOP_ASIDE = Ends(later("top left"), later("top right"))

ENDS: dict[str, Ends] = {
    "head_twist": _TURNED,
    "head_offset": _SIDEWAYS,
    "axis_distance": Ends(later("nearer"), later("farther")),
    "face_position": Ends(later("farther down"), later("farther up")),
    "head_reach": _FORWARD,
    "head_height": _UPWARD,
    "head_angle": Ends(later("steeper"), later("farther back")),
    "pivot_width": Ends(later("narrower"), later("wider")),
    "arm_length": _LENGTH,
    "axle_toe": _SIDEWAYS,
    "axle_twist": _TURNED,
    "axle_offset": _SIDEWAYS,
    "pair_offset": _SIDEWAYS,
    "pair_roll": _HIGH,
    "pair_skew": _BACK,
    "axis_toe": _BACK,
    "axis_twist": _HIGH,
    "control.x": _FORWARD,
    "control.y": _SIDEWAYS,
    "control.z": _UPWARD,
    "distance": _LENGTH,
    "datum_roll": _HIGH,
    "datum_yaw": _BACK,
    "datum_shift": _SIDEWAYS,
    "fork_spread": Ends(later("together"), later("apart")),
    "fork_cross": Ends(later("left leg"), later("right leg"), mirrored=True),
    "fork_spacing": Ends(later("closer"), later("farther apart")),
    "fork_rake": Ends(later("top back"), later("top forward")),
    "fork_lean": _TOP_ASIDE,
    "fork_offset": _FORWARD,
    "wheel_lean": _TOP_ASIDE,
    "wheel_track": _SIDEWAYS,
    "front_wheel_lean": _TOP_ASIDE,
    "front_wheel_offset": _SIDEWAYS,
}
"""By family of characteristic. What only has a size, such as a run-out, has no ends to name."""


def ends(key: str) -> Ends:
    """Return the words at the ends of a characteristic's bar, both empty where it has no way."""
    found = ENDS.get(family(key))
    return Ends(_(found.left), _(found.right), found.mirrored) if found else Ends("", "")
