"""What a measurement says besides its points, as fields of a form."""

from collections.abc import Mapping

from app.errors import BadInput, Problem
from app.web.decimals import numbers_in
from app.web.form_state import Option
from app.web.forms import Form
from app.web.visits import Visit
from app.wording.translation import _

FIELDS = ("mounting", "part_temperature_c", "after_ride_in", "up")
AXES = ("x", "y", "z")
UPWARD: dict[str, list[float]] = {
    "x": [1.0, 0.0, 0.0],
    "y": [0.0, 1.0, 0.0],
    "z": [0.0, 0.0, 1.0],
    "minus_x": [-1.0, 0.0, 0.0],
    "minus_y": [0.0, -1.0, 0.0],
    "minus_z": [0.0, 0.0, -1.0],
}
"""Directions that an instrument's axis may have when it stands or hangs upright."""


OWN, UNKNOWN = "own", "unknown"
"""Answers of the step that asks for it: a direction of its own, and that nobody knows."""


def stated_options() -> tuple[Option, ...]:
    """The same where the answer is asked for: none is given before, and it may be any direction."""
    return (
        Option("", _("Choose …")),
        *[option for option in up_options() if option.value],
        Option(OWN, _("it stands tilted: the direction is given below")),
        Option(UNKNOWN, _("not known: cannot be certified")),
    )


def stated_up(form: Form) -> list[object] | None:
    """The answer of that step: None where it is not known. Raises BadInput where it is missing."""
    chosen = form.text("up")
    typed = {axis: form.text(f"up.{axis}") for axis in AXES}
    if chosen == OWN or (not chosen and any(typed.values())):
        read = numbers_in(typed, AXES, "up.")
        missing = [Problem("number_empty", f"up.{axis}") for axis in AXES if axis not in read]
        if missing:
            raise BadInput(missing, missing[0].code)
        return [read[axis] for axis in AXES]
    if chosen not in (*UPWARD, UNKNOWN):
        raise BadInput([Problem("text_empty", "up")], "text_empty")
    return list(UPWARD[chosen]) if chosen in UPWARD else None


def up_options() -> tuple[Option, ...]:
    """Which of the instrument's axes points up."""
    return (
        Option("z", _("its Z axis")),
        Option("y", _("its Y axis")),
        Option("x", _("its X axis")),
        Option("minus_z", _("its Z axis points down")),
        Option("minus_y", _("its Y axis points down")),
        Option("minus_x", _("its X axis points down")),
        Option("", _("not known: cannot be certified")),
    )


def heading_of(form: Form, visit: Visit) -> dict[str, object]:
    """The heading as the schema has it. Raises BadInput for a temperature that is no number."""
    heading = numbers_in(
        {"part_temperature_c": form.text("part_temperature_c")}, ["part_temperature_c"]
    )
    if form.text("mounting"):
        heading["mounting"] = form.text("mounting")
    if form.text("after_ride_in"):
        heading["after_ride_in"] = True
    if form.text("up") in UPWARD:
        heading["up"] = UPWARD[form.text("up")]
    heading["by"] = visit.person.name
    heading["measured_at"] = visit.now.isoformat()
    return heading


def values_of(heading: Mapping[str, object]) -> dict[str, str]:
    """A heading on record as values of the form."""
    temperature = heading.get("part_temperature_c")
    up = heading.get("up")
    direction = [float(part) for part in up] if isinstance(up, list | tuple) else []
    own = direction if direction and direction not in UPWARD.values() else []
    return {
        **{f"up.{axis}": f"{part:g}" for axis, part in zip(AXES, own, strict=False)},
        "mounting": str(heading.get("mounting") or ""),
        "part_temperature_c": f"{temperature:g}" if isinstance(temperature, int | float) else "",
        "after_ride_in": "1" if heading.get("after_ride_in") else "",
        "up": next((name for name, axis in UPWARD.items() if axis == direction), ""),
    }
