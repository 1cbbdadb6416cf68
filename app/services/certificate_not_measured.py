"""What a certificate says nothing of: parts and characteristics that were not measured."""

from collections.abc import Iterable

from app.services.certificate_results import goes_on_a_certificate
from app.services.look_alikes import tells_apart
from app.services.references import RevisionView
from app.services.surveys import SurveyView
from app.wording import labels, look_alikes
from app.wording.enumeration import characteristics, listed
from app.wording.translation import _

PARTS = {
    "arm": ("arm_", "axle_"),
    "fork": ("fork_",),
    "wheels": ("wheel_", "front_wheel_"),
    "control": ("control.", "distance."),
    "pairs": ("pair_",),
}
"""Parts of a chassis, with the beginnings of the characteristics that speak of them."""
MOST_LEFT_OUT = 3
"""Characteristics that the first page names beside the parts; the evidence pages name all."""


def not_measured(
    survey: SurveyView, reference: RevisionView | None, *of_damage: str
) -> tuple[str, ...]:
    """What this certificate says nothing of, as far as the records know.

    of_damage: sentences on damage and on new parts that were not measured; empty ones are left out.
    """
    told = (
        in_words(map(part_name, absent_parts(survey))),
        missing(survey),
        listed_and_not_measured(survey, reference),
        set_by_levelling(survey),
        off_by_levelling(survey),
        not_told_apart(survey),
        *of_damage,
        _("Not examined: the inside of the metal, and anything that is not listed."),
    )
    return tuple(filter(None, told))


def not_measured_in_brief(survey: SurveyView, reference: RevisionView | None) -> str:
    """The same of parts and characteristics, for one line of the first page; may be empty."""
    parts = [part_in_brief(one) for one in absent_parts(survey)]
    levelled = [
        _("{name} (set by levelling)").format(name=labels.characteristic(key))
        for key in levelled_keys(survey)
    ]
    left_out = [in_a_word(key) for key in left_out_keys(survey, reference)]
    if seen_from_side(survey):
        left_out.insert(0, _("control points seen from the side"))
    names = [*parts, *levelled, *dict.fromkeys(left_out)]
    most = len(parts) + len(levelled) + MOST_LEFT_OUT
    return _("Not measured: {parts}.").format(parts=listed(names, most)) if names else ""


def in_words(parts: Iterable[str]) -> str:
    """The parts that are not measured as a sentence; empty where there is none."""
    names = ", ".join(parts)
    return _("Not measured: {parts}.").format(parts=names) if names else ""


def missing(survey: SurveyView) -> str:
    """What the reference requires and nobody has measured; else empty."""
    keys = survey.result["finding"]["missing"]
    if not keys:
        return ""
    return _("Required and not measured: {names}.").format(names=characteristics(keys))


def listed_and_not_measured(survey: SurveyView, reference: RevisionView | None) -> str:
    """What else the reference has and the results do not; empty where they have all."""
    told = set(survey.result["finding"]["missing"])
    keys = [key for key in left_out_keys(survey, reference) if key not in told]
    if not keys:
        return ""
    return _("In the reference, and not measured: {names}.").format(names=characteristics(keys))


def left_out_keys(survey: SurveyView, reference: RevisionView | None) -> list[str]:
    """Characteristics of the reference without a result, those that are required first; what
    belongs to a part that was not measured at all goes without saying."""
    if reference is None:
        return []
    found = {one["key"] for one in survey.result["characteristics"]}
    of_absent = tuple(start for part in absent_parts(survey) for start in PARTS[part])
    required = survey.result["finding"]["missing"]
    listed_keys = (*required, *reference.reference.characteristics)
    return [
        key
        for key in dict.fromkeys(listed_keys)
        if key not in found and not key.startswith(of_absent)
    ]


def levelled_keys(survey: SurveyView) -> list[str]:
    """What levelling made equal to the reference."""
    return [one["key"] for one in survey.result["characteristics"] if one["set_by_levelling"]]


def set_by_levelling(survey: SurveyView) -> str:
    """That in a sentence; empty where it set nothing."""
    keys = levelled_keys(survey)
    if not keys:
        return ""
    return _("Set by levelling, not measured: {names}.").format(names=characteristics(keys))


def seen_from_side(survey: SurveyView) -> list[str]:
    """Results of control points that are kept off the certificate for the way of levelling."""
    result = survey.result
    keys = [one["key"] for one in result["characteristics"]]
    return [key for key in keys if not goes_on_a_certificate(key, result["levelling"])]


def off_by_levelling(survey: SurveyView) -> str:
    """Why those are kept off; empty where none is."""
    if not seen_from_side(survey):
        return ""
    return _(
        "Left out: how far control points stand forward and upward. The frame was levelled by its "
        "head, and where that is bent, sound points would look wrong."
    )


def not_told_apart(survey: SurveyView, *, brief: bool = False) -> str:
    """What a measurement without control points leaves open; empty where it has them."""
    if tells_apart(survey):
        return ""
    return look_alikes.in_brief() if brief else look_alikes.sentence()


def absent_parts(survey: SurveyView) -> list[str]:
    """The parts of the chassis that have no characteristic in the result."""
    keys = [one["key"] for one in survey.result["characteristics"]]
    return [part for part, starts in PARTS.items() if not any(k.startswith(starts) for k in keys)]


def in_a_word(key: str) -> str:
    """What a characteristic is called on the first page; all of one pair or point alike."""
    first, dot, name = key.partition(".")
    named = labels.named(name.partition(".")[0])
    kind = {"pair": _("pair {name}"), "axis": _("axis {name}"), "control": _("point {name}")}
    told = kind.get(first.partition("_")[0])
    return told.format(name=named) if dot and told else labels.characteristic(key)


def part_in_brief(part: str) -> str:
    """A part of the chassis in a word or two."""
    return {
        "arm": _("swing arm"),
        "fork": _("fork"),
        "wheels": _("wheels"),
        "control": _("control points"),
        "pairs": _("points in pairs left and right"),
    }[part]


def part_name(part: str) -> str:
    """A part of the chassis in words."""
    return {
        "arm": _("swing arm and rear axle"),
        "fork": _("fork"),
        "wheels": _("wheels"),
        "control": _("control points (fixed places of the frame)"),
        "pairs": _("points of the frame in pairs left and right"),
    }[part]
