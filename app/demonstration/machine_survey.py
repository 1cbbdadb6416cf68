"""Surveys of a whole machine: the points of its blocks as warm, turned and seen as in a session."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from app.chassis.survey import Instrument, Survey
from app.demonstration.blocks import Block, blocks
from app.demonstration.extent import Extent
from app.demonstration.machine import Machine
from app.demonstration.rigs import Row, point_rows
from app.demonstration.session import Session, draw_session
from app.demonstration.simulator import in_machine_axes, plumb
from app.demonstration.vectors import Floats

CHAIN_ADJUSTERS = {"left": 4.0, "right": 4.0}
"""Marks, as they stood while the arm was measured; invented."""


@dataclass(frozen=True, slots=True)
class Measured:
    survey: Survey
    session: Session
    machine: Machine
    extent: Extent


class Named(NamedTuple):
    """Points with their names, in the machine's frame."""

    names: list[Row]
    places: Floats


def measure(
    machine: Machine, extent: Extent, rng: np.random.Generator, session: Session | None = None
) -> Measured:
    """One survey of the machine; without a session, in a random one."""
    chosen = draw_session(machine, extent, rng) if session is None else session
    exact = without_noise(machine, extent, chosen)
    noise, covariance = _noise(exact.places, extent, chosen, rng)
    return Measured(
        _survey(exact.names, exact.places + noise, covariance, extent, chosen),
        chosen,
        machine,
        extent,
    )


def without_noise(machine: Machine, extent: Extent, session: Session) -> Named:
    """What a perfect instrument would have read, in its own axes."""
    setup = session.head
    head = _head(machine, extent, session)
    further = _warm(blocks(machine, extent, session), extent, session)
    slipped = 1.0 if extent.rig.slipped_before == "steering" else 0.0
    again = _returned(further, extent)
    parts = [
        head[0],
        _shifted(head[1], slipped * setup.slip),
        _shifted(further, slipped * setup.slip),
        _shifted(head[2], setup.slip),
        _shifted(again, setup.slip),
    ]
    places = np.vstack([part.places for part in parts])
    read = (1.0 + setup.scale_error) * (places @ setup.orientation.T + setup.origin)
    warmth = extent.warmth
    scale = 20.0 if warmth.scale_c is None else warmth.scale_c
    return Named(
        [name for part in parts for name in part.names],
        read / (1.0 + warmth.scale_per_k * (scale - 20.0)),
    )


def _head(machine: Machine, extent: Extent, session: Session) -> tuple[Named, Named, Named]:
    """Datum, steering and head, and what of these is measured again, as warm as the frame."""
    rig = extent.rig
    found = in_machine_axes(machine.head, rig, session.head)
    names = point_rows(rig)
    parts, start = [], 0
    for group in found:
        places = np.vstack(group)
        parts.append(Named(names[start : start + len(places)], session.grown("frame") * places))
        start += len(places)
    return parts[0], parts[1], parts[2]


def _warm(found: list[Block], extent: Extent, session: Session) -> Named:
    """Each part grown about O; the ball does not grow with it."""
    ball = extent.rig.probe_radius_mm + session.head.ball_error
    names: list[Row] = []
    places = [np.zeros((0, 3))]
    for block in found:
        names += [(block.feature, block.label, block.station, None)] * len(block.places)
        grown = session.grown(block.part) * block.places
        places.append(grown if block.outward is None else grown + ball * block.outward)
    return Named(names, np.vstack(places))


def _returned(further: Named, extent: Extent) -> Named:
    """The first point of each label of what is measured again last."""
    first: dict[Row, int] = {}
    for row, name in enumerate(further.names):
        if name[0] in extent.returned and name[2] is None:
            first.setdefault(name, row)
    names: list[Row] = [(feature, label, "return", turn) for feature, label, _, turn in first]
    return Named(names, further.places[list(first.values())])


def _shifted(part: Named, shift: Floats) -> Named:
    return Named(part.names, part.places + shift)


def _noise(
    places: Floats, extent: Extent, session: Session, rng: np.random.Generator
) -> tuple[Floats, Mapping[int, Floats]]:
    """The errors of the readings, and the covariances of an instrument that sees badly in depth."""
    noise = extent.rig.noise_mm * rng.standard_normal(places.shape)
    if extent.depth_mm == 0.0:
        return noise, {}
    sight = places - session.viewpoint
    sight /= np.linalg.norm(sight, axis=1)[:, np.newaxis]
    deep = extent.depth_mm * rng.standard_normal(len(places))
    even = extent.rig.noise_mm**2 * np.eye(3)
    covariance = even + extent.depth_mm**2 * sight[:, :, np.newaxis] * sight[:, np.newaxis, :]
    return noise + deep[:, np.newaxis] * sight, dict(enumerate(covariance))


def _survey(
    names: list[Row],
    xyz: Floats,
    covariance: Mapping[int, Floats],
    extent: Extent,
    session: Session,
) -> Survey:
    rig, warmth = extent.rig, extent.warmth
    feature, label, station, turn = zip(*names, strict=True)
    unstated = np.full(len(xyz), np.nan)
    return Survey(
        feature=feature,
        label=label,
        station=station,
        turn=turn,
        xyz=xyz,
        u=unstated,
        offset=unstated.copy(),
        cov=covariance,
        up=plumb(session.head),
        instrument=Instrument(
            standard_uncertainty_mm=rig.noise_mm,
            offset_u_mm=rig.offset_u_mm,
            scale_u_ppm=rig.scale_u_ppm,
            probe_radius_mm=rig.probe_radius_mm,
            scale_temperature_c=warmth.scale_c,
            scale_expansion_per_k=warmth.scale_per_k,
        ),
        target_spacing=_spacing(extent, session),
        part_temperature_c=warmth.part_c,
        part_temperature_u_k=warmth.u_k,
        chain_adjusters=CHAIN_ADJUSTERS if "rear_axle" in feature else {},
    )


def _spacing(extent: Extent, session: Session) -> tuple[tuple[str, str, float, float], ...]:
    """What is stated of the distance of the first two targets, which their bracket keeps."""
    if extent.spacing_u_mm is None:
        return ()
    (r1, h1, a1), (r2, h2, a2) = session.head.targets[:2].tolist()
    across = complex(r1 * math.cos(a1) - r2 * math.cos(a2), r1 * math.sin(a1) - r2 * math.sin(a2))
    apart = math.hypot(abs(across), h1 - h2) + session.spacing_error
    one, other = (target.name for target in extent.rig.targets[:2])
    return ((one, other, apart, extent.spacing_u_mm),)
