"""Changes that no correction on record explains: measured wrongly, or moved along unnoticed."""

from collections.abc import Sequence

from app.services.certificate_results import goes_on_a_certificate
from app.services.job_views import CorrectionView
from app.services.stages import Stages
from app.wording.sections import TITLES, section_of

EVERYTHING = frozenset(TITLES)
EXPLAINS: dict[str, frozenset[str]] = {
    "head": frozenset({"head", "wheels"}),
    "frame": frozenset({"head", "datum", "frame", "wheels"}),
    "rear_frame": frozenset({"frame"}),
    "engine_mounts": frozenset({"frame"}),
    "pivot": EVERYTHING,
    "swing_arm": frozenset({"arm", "wheels"}),
    "fork": frozenset({"fork", "wheels"}),
    "front_wheel": frozenset({"wheels"}),
    "rear_wheel": frozenset({"arm", "wheels"}),
    "other": EVERYTHING,
}
"""By the part that was worked on, the sections that it changes; all is measured from the pivot."""


def unexplained(found: Stages, corrections: Sequence[CorrectionView]) -> frozenset[str]:
    """Keys that changed by more than the uncertainty of the change, in parts that nobody noted to
    have worked on; none where a correction names no part."""
    if found.change is None:
        return frozenset()
    worked_on = [EXPLAINS.get(one.part or "", EVERYTHING) for one in corrections]
    explained = frozenset().union(*worked_on)
    levelling = found.last.result["levelling"]
    return frozenset(
        one["key"]
        for one in found.change["characteristics"]
        if one["significant"]
        and section_of(one["key"]) not in explained
        and goes_on_a_certificate(one["key"], levelling)
    )
