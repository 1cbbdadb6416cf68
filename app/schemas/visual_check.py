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

Answer = Literal["seen", "not_seen", "not_checked"]


class VisualCheckIn(Form):
    item: Item
    answer: Answer
    place: Line | None = None
    """Where on the machine."""
    note: Prose | None = None
