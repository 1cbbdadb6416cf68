"""Which of many deviations is said first: the largest of each part against what is allowed."""

from collections.abc import Iterator

from app.schemas.result import CharacteristicOut, ResultOut
from app.wording.sections import section_of

SIDEWAYS = frozenset({"head_twist", "head_offset"})
"""Of the head: what is seen from behind. The rest is seen from the side, and is another bend."""
PLAINER = {"axis_distance": "head_reach"}
"""Two measures of one bend: the second is what an owner sees."""


def chief_deviations(result: ResultOut) -> dict[str, tuple[CharacteristicOut, ...]]:
    """By section, of the characteristics outside the one that is off most against its limit; of
    the head one seen from the side, and one seen from behind."""
    off = {one["key"]: one for one in outside(result)}
    largest: dict[tuple[str, bool], CharacteristicOut] = {}
    for one in off.values():
        kind = (section_of(one["key"]), one["key"] in SIDEWAYS)
        if kind not in largest or times_allowed(one) > times_allowed(largest[kind]):
            largest[kind] = one
    found: dict[str, tuple[CharacteristicOut, ...]] = {}
    for section, sideways in sorted(largest):
        one = largest[section, sideways]
        shown = off.get(PLAINER.get(one["key"], ""), one)
        found[section] = (*found.get(section, ()), shown)
    return found


def outside(result: ResultOut) -> Iterator[CharacteristicOut]:
    """The characteristics beyond their limits that have a reference to be off from."""
    for one in result["characteristics"]:
        if one["verdict"] == "outside" and one["deviation"]:
            yield one


def times_allowed(one: CharacteristicOut) -> float:
    """How many times what is allowed on its side a deviation is; infinite where nothing is."""
    deviation = one["deviation"] or 0.0
    limit = one["upper"] if deviation > 0.0 else one["lower"]
    return deviation / limit if limit and deviation / limit > 0.0 else float("inf")
