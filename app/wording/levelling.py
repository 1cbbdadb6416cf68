"""How the frame was levelled, in a sentence that the finding and the certificate print."""

from collections.abc import Sequence

from app.wording.labels import named
from app.wording.translation import _, later

RULES: dict[str, str] = {
    "by_control": later(
        "The frame was levelled by its control points: it was turned about the pivot axis until "
        "they fit their reference positions best, seen from the side."
    ),
    "by_line": later(
        "The frame was levelled by its levelling points: it was turned about the pivot axis "
        "until the front one stood level with the rear one."
    ),
    "by_height": later(
        "The frame was levelled by its head height: it was turned about the pivot axis until "
        "the head stood as high as the reference says. So its height above the pivot is no "
        "finding; how far it stands from the pivot and along the steering axis needs no levelling "
        "and is one."
    ),
    "by_angle": later(
        "The frame was levelled by its head angle: it was turned about the pivot axis until the "
        "steering axis leant as the reference says. So the angle itself is no finding."
    ),
}
NOT_LEVELLED = later(
    "The frame was not levelled: only what needs no levelling is given, as seen between the "
    "steering axis and the pivot axis."
)


def sentence(rule: str | None, control_points: Sequence[str] = ()) -> str:
    """Return the sentence of a levelling rule; None means that nothing was levelled.

    control_points: the names of those that it went by.
    """
    said = _(RULES.get(rule or "", NOT_LEVELLED))
    if not control_points:
        return said
    names = "; ".join(named(name) for name in control_points)
    return said + " " + _("The points: {names}.").format(names=names)
