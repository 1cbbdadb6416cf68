"""Where what a job's records say of the same thing does not agree, or does not belong together any
more: told beside both, and to the signer beforehand."""

from collections.abc import Iterator

from app.schemas.visual_check import ITEMS
from app.services.certificate_corrections import follows
from app.services.certificate_received import CORRECTED_AS
from app.services.job_views import CorrectionView, JobView
from app.services.visual_check_views import VisualCheckView
from app.wording import damage
from app.wording.enumeration import listed
from app.wording.translation import _, counted

WHEEL = {
    "bent": ("wheel_rims", "wheel_axles"),
    "dented": ("wheel_rims",),
    "cracked": ("wheel_cracks",),
}
SPEAK_OF: dict[str, dict[str, tuple[str, ...]]] = {
    "front_wheel": WHEEL,
    "rear_wheel": WHEEL,
    "fork": {
        "bent": ("fork_yokes", "fork_tubes"),
        "dented": ("fork_tubes",),
        "cracked": ("fork_yokes", "fork_tubes"),
    },
    "frame": {"cracked": ("frame_cracks",)},
    "swing_arm": {"cracked": ("arm_cracks",)},
}
"""By zone and by how damage looks, the items of the visual check that speak of the same. A bent
frame needs no wrinkle: it is left out."""


def damaged_but_not_seen(job: JobView) -> tuple[str, ...]:
    """Zones with damage at check-in of which every item that speaks of the same was answered "not
    seen", though nobody had corrected that part by then; as they are called, from front to rear."""
    checks = {one.item: one for one in job.visual_checks}
    return tuple(
        damage.zone(zone)
        for zone, by_look in SPEAK_OF.items()
        if any(
            not_seen([checks[item] for item in items if item in checks], zone, job.corrections)
            for look, items in by_look.items()
            if (zone, look) in set(looks_at_check_in(job))
        )
    )


def not_seen(
    found: list[VisualCheckView], zone: str, corrections: tuple[CorrectionView, ...]
) -> bool:
    """Whether all of these were looked at, none was ever seen, and the part was as it had come."""
    times = [one.checked_at for one in found if one.checked_at is not None]
    if not times or any(one.answer != "not_seen" or one.seen_before for one in found):
        return False
    of_the_part = [
        one
        for one in corrections
        if one.part in CORRECTED_AS[zone] or damage.is_named(zone, one.text)
    ]
    return all(follows(one, max(times)) for one in of_the_part)


def looks_at_check_in(job: JobView) -> Iterator[tuple[str, str]]:
    """Zone and look of all damage at check-in; also of what is told in words that name both."""
    for one in job.damage:
        if one.look is not None:
            yield one.zone, one.look
    for line in job.visible_damage[len(job.damage) :]:
        for zone, by_look in SPEAK_OF.items():
            if damage.is_named(zone, line):
                yield from ((zone, look) for look in by_look if damage.look_is_named(look, line))


def disagreement(job: JobView) -> str:
    """The sentence that stands beside the visual check and beside the damage as it came; empty
    where they agree."""
    zones = damaged_but_not_seen(job)
    if not zones:
        return ""
    return _(
        "Check-in and visual check contradict each other: damage was noted when the machine came, "
        "and nothing of it was seen in the visual check: {zones}. Which of them is right is not on "
        "record."
    ).format(zones=listed(zones))


def not_repeated(job: JobView) -> str:
    """That items were not looked at again after a correction; empty where all were."""
    count = len(looked_at_before_correction(job))
    if not count:
        return ""
    return counted(
        "{count} of these was looked at before the correction and not again.",
        "{count} of these were looked at before the correction and not again.",
        count,
    ).format(count=count)


def looked_at_before_correction(job: JobView) -> tuple[str, ...]:
    """The items that somebody looked at, and nobody again after the last correction."""
    return tuple(
        one.item
        for one in job.visual_checks
        if one.item in ITEMS
        and one.answer != "not_checked"
        and one.checked_at is not None
        and any(follows(correction, one.checked_at) for correction in job.corrections)
    )
