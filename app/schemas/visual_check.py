"""The visual check: what is looked for on a crashed machine, and what was seen of it."""

from typing import Literal

from app.schemas.form import Form
from app.schemas.sent import Line, Prose

Item = Literal[
    "frame_cracks", "frame_wrinkles", "frame_paint", "frame_welds", "frame_heat_marks",
    "engine_mounts", "rear_frame",
    "steering_stops", "head_bearings", "head_bearing_seats",
    "fork_yokes", "fork_tubes",
    "wheel_cracks", "wheel_rims", "wheel_axles",
    "arm_cracks", "arm_wrinkles", "pivot_bearings", "suspension_links",
]  # fmt: skip

ITEMS: tuple[str, ...] = Item.__args__  # type: ignore[attr-defined]
"""In the order in which a technician walks round the machine."""

HOLD_ITEMS = frozenset(
    {
        "frame_cracks",
        "frame_wrinkles",
        "frame_welds",
        "frame_heat_marks",
        "engine_mounts",
        "fork_yokes",
        "wheel_cracks",
        "arm_cracks",
        "arm_wrinkles",
        "suspension_links",
    }
)
"""Damage that means replacement, not straightening: when seen, it opens a hold. Every item that
speaks of a crack or a wrinkle is one of them."""

FRAME_HOLD_ITEMS = frozenset(
    {"frame_cracks", "frame_wrinkles", "frame_welds", "frame_heat_marks", "engine_mounts"}
)
"""Of these the ones in the frame itself: metal that is pulled when a chassis is straightened."""

Answer = Literal["seen", "not_seen", "not_checked"]

SinceSeen = Literal["replaced", "repaired", "no_damage"]

SINCE_SEEN: tuple[str, ...] = SinceSeen.__args__  # type: ignore[attr-defined]
"""Why something that was seen is answered otherwise later."""


class VisualCheckIn(Form):
    item: Item
    answer: Answer
    place: Line | None = None
    """Where on the machine."""
    note: Prose | None = None
    since_seen: SinceSeen | None = None
    """Why what was seen is answered otherwise; needed where `seen` stands, with `since_words`."""
    since_words: Prose | None = None
    """What was done or found, and by whom."""
