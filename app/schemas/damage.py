"""Visible damage by the zone where it is seen: what the desk looks at, before any technician."""

from typing import Literal

from app.schemas.form import Form
from app.schemas.sent import Line

Zone = Literal[
    "front_wheel", "fork", "headlamp", "handlebar", "tank", "frame", "engine", "foot_rest",
    "exhaust", "seat", "swing_arm", "rear_wheel", "tail",
]  # fmt: skip

ZONES: tuple[str, ...] = Zone.__args__  # type: ignore[attr-defined]
"""From front to rear."""

Side = Literal["left", "right", "both"]

SIDES: tuple[str, ...] = Side.__args__  # type: ignore[attr-defined]

Look = Literal["scratched", "dented", "bent", "cracked", "torn_off", "leaking"]

LOOKS: tuple[str, ...] = Look.__args__  # type: ignore[attr-defined]
"""How the damage looks from outside."""


class DamageIn(Form):
    """Damage seen in one zone; without `look` only that there is some."""

    zone: Zone
    side: Side | None = None
    look: Look | None = None
    note: Line | None = None
