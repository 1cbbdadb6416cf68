"""The visual check: what is looked for on a crashed machine, and what was seen of it."""

from typing import Literal

from app.schemas.form import Form
from app.schemas.sent import Line, Prose

Item = Literal[
    "frame_cracks", "frame_wrinkles", "frame_welds", "frame_heat_marks", "head_bearing_seats",
    "steering_stops", "arm_cracks", "arm_wrinkles", "pivot_bearings", "engine_mounts",
    "rear_frame", "fork_tubes", "fork_yokes", "wheel_rims", "wheel_axles", "suspension_links",
]  # fmt: skip

ITEMS: tuple[str, ...] = Item.__args__  # type: ignore[attr-defined]
"""In the order in which a technician walks round the machine."""

HOLD_ITEMS = frozenset(
    {
        "frame_cracks",
        "frame_wrinkles",
        "frame_welds",
        "frame_heat_marks",
        "arm_cracks",
        "arm_wrinkles",
    }
)
"""Damage that means replacement, not straightening: when seen, it opens a hold."""

Answer = Literal["seen", "not_seen", "not_checked"]


class VisualCheckIn(Form):
    item: Item
    answer: Answer
    place: Line | None = None
    """Where on the machine."""
    note: Prose | None = None
