"""Thermal expansion: from lengths as read to lengths at 20 °C."""

from typing import NamedTuple

REFERENCE_TEMPERATURE_C = 20.0


class Expansion(NamedTuple):
    """The factor on lengths, and its uncertainties by temperature and by coefficient."""

    factor: float
    u_temperature: float
    u_coefficient: float


def to_reference_temperature(
    part_temperature_c: float,
    part_temperature_u_k: float,
    part_per_k: float,
    part_per_k_u: float,
    scale_temperature_c: float = REFERENCE_TEMPERATURE_C,
    scale_per_k: float = 0.0,
) -> Expansion:
    """Factor that takes a length read on a scale to the length of the part at 20 °C.

    Coefficients per kelvin, temperatures in degrees Celsius. The uncertainties are those of the
    factor, relative to it. Formula: (1 + a_s (T_s - 20)) / (1 + a_p (T_p - 20)); 20 °C is the
    reference temperature of ISO 1.
    """
    part = part_temperature_c - REFERENCE_TEMPERATURE_C
    grown = 1.0 + part_per_k * part
    scale = 1.0 + scale_per_k * (scale_temperature_c - REFERENCE_TEMPERATURE_C)
    return Expansion(
        scale / grown,
        abs(part_per_k / grown) * part_temperature_u_k,
        abs(part / grown) * part_per_k_u,
    )
