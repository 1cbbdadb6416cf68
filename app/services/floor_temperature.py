"""One measurement has one temperature: what a pause adds to its uncertainty."""

from collections.abc import Mapping

TEMPERATURE, UNCERTAINTY = "part_temperature_c", "part_temperature_u_k"
LEAST_U_K = 1.0


def pieces_of(
    step: str, pieces: Mapping[str, object], standing: Mapping[str, object]
) -> dict[str, object]:
    """The pieces to be set. After a pause the temperature that stands and the new one count alike:
    their mean, with half their difference as its standard uncertainty, at least 1 K (ours: the
    points of either day are not told apart)."""
    before, then = standing.get(TEMPERATURE), pieces.get(TEMPERATURE)
    found = dict(pieces)
    if not (step.startswith("again") and isinstance(before, int | float)):
        return found
    if not isinstance(then, int | float) or isinstance(then, bool):
        return found
    stated = standing.get(UNCERTAINTY)
    least = float(stated) if isinstance(stated, int | float) else LEAST_U_K
    found[TEMPERATURE] = round((before + then) / 2.0, 2)
    found[UNCERTAINTY] = round(max(least, abs(then - before) / 2.0), 2)
    return found
