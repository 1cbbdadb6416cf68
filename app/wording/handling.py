"""The figures of the handling in words: for information, no verdict rests on them."""

from app.chassis.characteristic_units import HANDLING
from app.chassis.senses import sense_code
from app.schemas.result import HandlingFigureOut
from app.wording import labels, senses
from app.wording.numbers import places, spread
from app.wording.translation import _

COVERAGE_FACTOR = 1.96
"""Of a normal distribution, 95 %."""


def figure(key: str, value: float, standard_uncertainty: float) -> HandlingFigureOut:
    """Return one figure as `jigbook.result/1` gives it."""
    code = sense_code(key, value, None)
    decimals = places(COVERAGE_FACTOR * standard_uncertainty)
    return {
        "name": labels.characteristic(key),
        "value": value,
        "standard_uncertainty": standard_uncertainty,
        "sense_code": code,
        "sense": senses.sentence(code, value, "mm", decimals, None),
    }


def uncertainty(one: HandlingFigureOut) -> str:
    """Return the expanded uncertainty of a figure: `± 1.2 mm`."""
    expanded = COVERAGE_FACTOR * one["standard_uncertainty"]
    return spread(expanded, "mm", places(expanded))


def in_order(handling: dict[str, HandlingFigureOut]) -> list[tuple[str, HandlingFigureOut]]:
    """Return the figures that are there, in the order in which they are shown."""
    return [(key, handling[key]) for key in HANDLING if key in handling]


def caveat() -> str:
    """Return what these figures are worth."""
    return _(
        "Worked out from the measurement and the reference's tyre radii, with the steering "
        "straight; the crown of the tyres is left out of account. For information only: no "
        "finding rests on these figures."
    )
