"""What a part grows by warmth, from the reference's material and the survey's temperature."""

from collections.abc import Iterable
from typing import NamedTuple

from app.chassis import caveats
from app.chassis.result import Caveat
from app.chassis.survey import Reference, Survey
from app.metrology.thermal import REFERENCE_TEMPERATURE_C, Expansion, to_reference_temperature

# Coefficients per kelvin with their standard uncertainty. Steel: W. D. Callister, Fundamentals
# of Materials Science and Engineering, table B.6 (A36, 1020); aluminium: from memory for alloys
# 7005 and 7020.
PER_KELVIN = {"steel": (11.7e-6, 1e-6), "aluminium": (23.1e-6, 1e-6)}
TEMPERATURE_U_K = 1.0
AFTER_RIDE_IN_U_K = 2.0
UNSCALED = Expansion(1.0, 0.0, 0.0)
PARTS = ("arm", "fork", "wheel")
PART_OF = {
    "rear_axle": "arm",
    "axle_face": "arm",
    "fork_leg": "fork",
    "front_rim": "wheel",
    "rear_rim": "wheel",
}
"""What is not listed belongs to the frame."""


class Growth(NamedTuple):
    """How a part grows, and whose coefficient that is: parts of one material share one cause."""

    expansion: Expansion
    cause: str


def growths(
    survey: Survey, reference: Reference, features: Iterable[str]
) -> tuple[dict[str, Growth], list[Caveat]]:
    """The growth of each part that has points, the frame first; what is not known, said once."""
    factor, warnings = expansion(survey, reference, "frame")
    found = {"frame": Growth(factor, _cause(reference, "frame"))}
    further = {PART_OF[feature] for feature in features if feature in PART_OF}
    for part in PARTS if further else ():
        if part in further:
            factor, unknown = expansion(survey, reference, part)
            found[part] = Growth(factor, _cause(reference, part))
            warnings += [caveat for caveat in unknown if caveat not in warnings]
    return found, warnings


def _cause(reference: Reference, part: str) -> str:
    material = reference.materials.get(part) or reference.materials.get("frame")
    if part in reference.expansion_per_k or material is None:
        return part
    return material


def expansion(survey: Survey, reference: Reference, part: str) -> tuple[Expansion, list[Caveat]]:
    """The factor for all points of a part, and what is not known of it."""
    instrument = survey.instrument
    temperature = survey.part_temperature_c
    if temperature is None:
        return UNSCALED, [caveats.temperature_unknown()]
    material = reference.materials.get(part) or reference.materials.get("frame")
    known = reference.expansion_per_k.get(part) or PER_KELVIN.get(material or "")
    if known is None:
        return UNSCALED, [caveats.material_unknown(part, material)]
    warnings = []
    scale_temperature = instrument.scale_temperature_c
    if scale_temperature is None:
        scale_temperature = REFERENCE_TEMPERATURE_C
        if instrument.scale_expansion_per_k:
            warnings.append(caveats.scale_temperature_unknown())
    stated = survey.part_temperature_u_k
    u = TEMPERATURE_U_K if stated is None else stated
    if survey.after_ride_in:
        u = max(u, AFTER_RIDE_IN_U_K)
    factor = to_reference_temperature(
        temperature, u, *known, scale_temperature, instrument.scale_expansion_per_k
    )
    return factor, warnings
