"""Where a step is measured, drawn: kept, as most measurements of one machine draw the same."""

from markupsafe import Markup

from app.drawings.floor import Mark
from app.drawings.floor_places import is_exact, layout
from app.services.floor_memory import Memory
from app.services.floor_outline import Nominals
from app.services.floor_views import FloorView, StepView
from app.web.drawn import where_to_measure
from app.wording.translation import catalogue

DRAWINGS: Memory[tuple[Markup, bool]] = Memory()
"""The same machine is drawn again and again, in every measurement of its kind."""
DRAWN_ALSO = {"rig": "steer_target", "adjusters": "rear_axle", "fork_runout": "fork_leg"}
"""Steps without points that have a place all the same."""


def drawing(view: FloorView, step: StepView, known: Nominals) -> tuple[Markup | None, bool]:
    """Where to measure, and whether the place is known; nothing for a step without a place."""
    feature = step.feature or DRAWN_ALSO.get(step.kind)
    if feature is None:
        return None, True
    turn = (step.turn_deg or 0.0) * (-1.0 if step.turn == "right" else 1.0)
    marks = tuple(marks_of(step, feature, view.targets))
    key = (known.sha256, view.targets, marks, turn, feature, step.label, catalogue())
    found = DRAWINGS.get(key)
    if found is None:
        plan = layout(
            known.characteristics, known.control_points, known.head_length_mm, view.targets
        )
        found = where_to_measure(plan, marks, turn), is_exact(plan, feature, step.label)
        DRAWINGS.put(key, found)
    return found


def marks_of(step: StepView, feature: str, targets: tuple[str, ...]) -> list[Mark]:
    """What is marked: the next point, and those that were taken at this step."""
    if step.feature is None:
        names: tuple[str | None, ...] = targets if feature == "steer_target" else ("left", "right")
        return [Mark(feature, name) for name in names]
    if not step.names:
        left = step.wanted - len(step.points)
        done = step.points and left <= 0
        return [Mark(feature, step.label, max(1, step.wanted if done else left), taken=bool(done))]
    marks = []
    for name in step.names:
        done = name not in step.open_names
        if done or name == step.next_name:
            marks.append(named_mark(feature, step.label, name, taken=done))
    return marks


def named_mark(feature: str, label: str | None, name: str, *, taken: bool) -> Mark:
    """The mark of a target, or of one end of a line."""
    if feature == "steer_target":
        return Mark(feature, name, taken=taken)
    return Mark(feature, label, taken=taken, end=name)
