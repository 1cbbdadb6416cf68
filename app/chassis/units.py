"""Whether the survey is in millimetres: the head lies 300 to 1200 mm from the pivot."""

from app.chassis import refusals

NEAR_NOMINAL = 0.05
CLEARLY_WRONG_MM = 125.0
_RANGES = (("metres", 0.3, 1.2), ("inches", 12.0, 47.0), ("centimetres", 47.0, 120.0))


def check(feature: str, distance: float, nominal_mm: float | None) -> None:
    """Raises Refusal `metres`, `inches`, `centimetres` or `implausible_size`.

    distance: of the head from the pivot axis, in what the survey is in; nominal_mm: the same by
    the reference. A distance that is the nominal in another unit goes first.
    """
    if nominal_mm is not None:
        for unit, size in refusals.UNIT_MM.items():
            if abs(distance * size / nominal_mm - 1.0) <= NEAR_NOMINAL:
                raise refusals.wrong_unit(unit, feature, distance, nominal_mm)
    if refusals.SIZE_LOWEST_MM <= distance <= refusals.SIZE_HIGHEST_MM:
        return
    for unit, lowest, highest in _RANGES:
        if lowest <= distance <= highest:
            raise refusals.wrong_unit(unit, feature, distance, nominal_mm)
    raise refusals.implausible_size(feature, distance, nominal_mm)


def check_roughly(feature: str, distance: float, nominal_mm: float | None) -> None:
    """The same from a rough distance, before anything is fitted: only what is clearly wrong.

    A survey in other units would else be refused for its small movements first.
    """
    if distance < CLEARLY_WRONG_MM:
        check(feature, distance, nominal_mm)
