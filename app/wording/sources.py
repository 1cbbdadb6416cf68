"""Sources of uncertainty: what each is called, and what would make it smaller.

A source is a feature whose points were measured, or a cause that all points share. The engine
names it by a code, with the part behind a point where there are several (`expansion.arm`).
"""

from collections.abc import Iterable
from typing import NamedTuple

from app.schemas.result import CharacteristicOut
from app.wording import labels
from app.wording.enumeration import listed
from app.wording.numbers import percent
from app.wording.translation import _, later

REDUCE: dict[str, str] = {
    "pivot": later("measure the pivot again, or use a longer bar through it"),
    "pivot_face": later("measure more points on each frame face, close to the pivot"),
    "steer_target": later(
        "turn the steering further to each side, or add a station, or set the targets farther "
        "from the axis and apart in height"
    ),
    "head_bore": later("measure the bearing seats again, as far apart as the head allows"),
    "head_face": later("measure more points on the head face, spread all round"),
    "level_line": later("measure the levelling points again, or choose two farther apart"),
    "control": later("measure the control points again"),
    "pair": later("measure both points of the pair again"),
    "rear_axle": later("measure the axle again, with points farther apart or a longer bar"),
    "axle_face": later("measure more points on each wheel face of the arm, close to the axle"),
    "fork_leg": later("measure more points on each leg, as far apart as the leg allows"),
    "front_rim": later("measure more points on the front rim, spread all round"),
    "rear_rim": later("measure more points on the rear rim, spread all round"),
    "axis": later("measure this axis again, or use a longer bar through it"),
    "wheel_runout": later("measure the rim again with the wheel turned by half a turn"),
    "target_spacing": later("have the spacing of the targets calibrated more closely"),
    "face_squareness": later("measure more points on the face, or find out how square it is made"),
    "instrument_offset": later("have the radius of the probe calibrated more closely"),
    "instrument_scale": later("have the scale of the instrument calibrated more closely"),
    "temperature": later("take the temperature of the parts more closely, or near 20 °C"),
    "expansion": later("find out how much the metal of the part expands"),
}
"""What would make the uncertainty by each source smaller."""

ENOUGH = 0.9
"""Sources are named until they make this part of a variance."""
MOST_NAMED = 3
LEAST_NAMED = 0.05
MOST_ADVISED = 5
"""Characteristics that are named beside an advice."""


class Part(NamedTuple):
    """One source of a characteristic's uncertainty: its code and share of the variance."""

    source: str
    share: float


def name(source: str) -> str:
    """Return what a source is called: `swing-arm pivot axis`."""
    return labels.source(source)


def reduce(source: str) -> str:
    """Return what would make it smaller, in one clause; empty where nothing is known."""
    return _(REDUCE.get(source.partition(".")[0], ""))


def largest_first(parts: Iterable[Part]) -> list[Part]:
    """Return the sources of one characteristic, the largest first."""
    return sorted(parts, key=lambda part: -part.share)


def leading(parts: Iterable[Part]) -> list[Part]:
    """Return the sources worth naming in one line: until they make most of the variance."""
    named: list[Part] = []
    for part in largest_first(parts):
        enough = sum(one.share for one in named) >= ENOUGH or len(named) == MOST_NAMED
        if named and (enough or part.share < LEAST_NAMED):
            break
        named.append(part)
    return named


def parts_of(one: CharacteristicOut) -> list[Part]:
    """Return the sources of one characteristic as its result has them."""
    return [Part(part["source"], part["share"]) for part in one["budget"]]


def in_one_line(one: CharacteristicOut) -> str:
    """Return the sources worth naming: `swing-arm pivot axis 62 %, rear axle 31 %`."""
    leads = leading(parts_of(one))
    return ", ".join(f"{name(part.source)} {percent(part.share)}" for part in leads)


class Advice(NamedTuple):
    """What one source is, what would reduce it, and whose uncertainty it leads."""

    source: str
    reduce: str
    characteristics: tuple[str, ...]

    @property
    def named(self) -> str:
        """The characteristics in one line, of very many the first ones."""
        return listed(self.characteristics, MOST_ADVISED)


def advice(budgets: Iterable[tuple[str, Iterable[Part]]]) -> list[Advice]:
    """Return what would reduce the uncertainties, for each source that is the largest of one.

    budgets: name of each characteristic with its sources. The source that leads most comes first.
    """
    leads: dict[str, list[str]] = {}
    for characteristic, parts in budgets:
        for first in largest_first(parts)[:1]:
            leads.setdefault(first.source, []).append(characteristic)
    found = sorted(leads.items(), key=lambda pair: -len(pair[1]))
    return [Advice(name(source), reduce(source), tuple(names)) for source, names in found]
