"""The machine's condition as it came, and what is not on record of its damage since."""

from collections.abc import Iterator, Sequence

from app.documents.content import Line as Fact
from app.schemas.damage import ZONES
from app.services.certificate_case import Case
from app.services.certificate_facts import facts
from app.services.sending_back import Exchange
from app.services.surveys import SurveyView
from app.wording import damage, jobs, moments
from app.wording.enumeration import listed
from app.wording.translation import _, counted

MEASURED_BY = {
    "front_wheel": ("front_wheel_", "wheel_"),
    "rear_wheel": ("wheel_",),
    "fork": ("fork_",),
    "swing_arm": ("arm_", "axle_"),
    "frame": ("head_", "face_", "axis_", "pivot_", "pair_", "control.", "distance.", "datum_"),
}
"""Zones of damage that a measurement speaks of, with the beginnings of its characteristics."""
CORRECTED_AS = {
    "front_wheel": {"front_wheel"},
    "rear_wheel": {"rear_wheel"},
    "fork": {"fork"},
    "swing_arm": {"swing_arm"},
    "frame": {"head", "frame", "rear_frame", "engine_mounts", "pivot"},
}
"""The same zones, as corrections name their part."""
LONGEST_ANSWER = 300
"""Letters of an answer to the inspector that are quoted."""
MOST_QUOTED = 3
"""Lines of damage in words that are told again; all of them stand under "As received"."""


def received_lines(case: Case) -> tuple[Fact, ...]:
    """The machine's condition as it came, and what was ordered by whom."""
    job = case.job
    by = job.received_by or ""
    when = moments.moment_with_zone(job.received_at)
    ordered = (job.authorised_scope or "", job.authorised_by or "")
    return facts(
        (_("Received"), ", ".join(part for part in (when, by) if part)),
        (_("Ordered"), "; ".join(part for part in ordered if part)),
        (_("As received"), "; ".join([jobs.rideable(job.rideable), *job.visible_damage])),
    )


def received_words(case: Case) -> str:
    """That damage at check-in is what the desk saw, apart from the visual check."""
    if not case.job.visible_damage:
        return ""
    return _(
        "Damage told here is what the desk saw on {day}, when the machine came. It stands apart "
        "from the technician's visual check, which has its own list and its own date."
    ).format(day=moments.day(case.job.received_at))


def not_followed(case: Case, survey: SurveyView) -> str:
    """Damage at check-in that no measurement, correction or answer speaks of; else empty.

    Damage told in words is held against them where the words name a zone as this program does.
    Any other words, in whatever language, are told as they are: nobody compared them.
    """
    silent = [zone for zone in not_spoken_of(case, survey) if answer_on(zone, case) is None]
    return " ".join(filter(None, [of_zones(silent, case), of_words(told_in_words(case))]))


def of_damage(case: Case, survey: SurveyView) -> tuple[str, ...]:
    """All that is to be said of damage that nothing followed, of new parts, and of damage that an
    answer speaks of; may be empty."""
    return not_followed(case, survey), replaced_words(case, survey), *of_answers(case, survey)


def replaced_words(case: Case, survey: SurveyView) -> str:
    """New parts that nobody has measured; empty where there is none."""
    zones = replaced_not_measured(case, survey)
    if not zones:
        return ""
    return _("Replaced, and not measured: {zones}.").format(zones=listed(zones))


def in_brief(case: Case, survey: SurveyView) -> tuple[str, ...]:
    """The same of both in so few words that they go on the first page; may be empty."""
    left = [damage.zone(one) for one in not_spoken_of(case, survey)]
    if not left:
        return ("", replaced_words(case, survey))
    told = _("Damaged when it came, no correction on record: {zones}.")
    return told.format(zones=listed(left, MOST_QUOTED)), replaced_words(case, survey)


def replaced_not_measured(case: Case, survey: SurveyView) -> list[str]:
    """Zones whose part was replaced and has no characteristic in the result."""
    parts = {one.part for one in case.job.corrections if one.method == "replaced"}
    return [
        damage.zone(zone)
        for zone, named in CORRECTED_AS.items()
        if not parts.isdisjoint(named) and not is_measured(zone, survey)
    ]


def is_measured(zone: str, survey: SurveyView | None) -> bool:
    """Whether any characteristic of the result speaks of the zone; None: nothing was measured."""
    if survey is None:
        return False
    starts = MEASURED_BY.get(zone, ())
    return any(one["key"].startswith(starts) for one in survey.result["characteristics"])


def not_spoken_of(case: Case, survey: SurveyView | None) -> list[str]:
    """Damaged zones of which neither the measurement nor a correction speaks."""
    return [zone for zone in damaged_zones(case) if not spoken_of(zone, case, survey)]


def nothing_on_record(case: Case, survey: SurveyView) -> bool:
    """Whether of any damage at check-in nothing tells what became of it."""
    return any(answer_on(zone, case) is None for zone in not_spoken_of(case, survey))


def answer_on(zone: str, case: Case) -> Exchange | None:
    """The newest answer to the inspector that names the part."""
    return next((one for one in case.answers if damage.is_named(zone, one.words)), None)


def of_answers(case: Case, survey: SurveyView) -> Iterator[str]:
    """Damaged zones of which an answer to the inspector alone speaks, in its own words."""
    zones = not_spoken_of(case, survey)
    for one in case.answers:
        named = [damage.zone(zone) for zone in zones if answer_on(zone, case) == one]
        if named:
            yield of_answer(one, named)


def of_answer(one: Exchange, named: Sequence[str]) -> str:
    """What was answered of these zones, by whom and when."""
    words = " ".join(one.words.split())
    quoted = words if len(words) <= LONGEST_ANSWER else f"{words[: LONGEST_ANSWER - 1]}…"
    return _(
        "Seen at check-in, neither measured nor named among the corrections, and answered to the "
        "inspector: {zones}. {name}, {day}: “{words}”"
    ).format(
        zones="; ".join(named),
        name=one.by or _("not stated"),
        day=moments.day(one.at),
        words=quoted,
    )


def of_zones(left: Sequence[str], case: Case) -> str:
    """Zones of which nothing tells what became of them."""
    if not left:
        return ""
    told = _(
        "Seen at check-in, and neither measured nor named among the corrections; what became of "
        "it is not on record here: {zones}."
    ).format(zones="; ".join(damage.zone(zone) for zone in left))
    if any(one.part in (None, "other") for one in case.job.corrections):
        told += " " + _("A correction that is noted in words alone may speak of it.")
    return told


def of_words(lines: Sequence[str]) -> str:
    """Damage in words that name no zone; the whole list stands beside the day it came."""
    if not lines:
        return ""
    told = "; ".join(f"“{one}”" for one in lines[:MOST_QUOTED])
    more = len(lines) - MOST_QUOTED
    if more > 0:
        told += counted(", and {count} more", ", and {count} more", more).format(count=more)
    return _(
        "Told in words at check-in, and held against no measurement and no correction: {words}."
    ).format(words=told)


def damaged_zones(case: Case) -> Iterator[str]:
    """Zones with damage at check-in, from front to rear; also those that words name."""
    coded = {one.zone for one in case.job.damage}
    words = " ".join(free_lines(case))
    for zone in ZONES:
        if zone in coded or damage.is_named(zone, words):
            yield zone


def told_in_words(case: Case) -> list[str]:
    """Lines of damage that name no zone."""
    return [
        one for one in free_lines(case) if not any(damage.is_named(zone, one) for zone in ZONES)
    ]


def free_lines(case: Case) -> Sequence[str]:
    """Damage that lies in no zone or is told otherwise."""
    return case.job.visible_damage[len(case.job.damage) :]


def spoken_of(zone: str, case: Case, survey: SurveyView | None) -> bool:
    """Whether the measurement or a correction speaks of the part."""
    if is_measured(zone, survey):
        return True
    return any(
        one.part in CORRECTED_AS.get(zone, ()) or damage.is_named(zone, one.text)
        for one in case.job.corrections
    )
