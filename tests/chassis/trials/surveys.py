"""Surveys for trials, from sound to strongly curved, and what the engine makes of them."""

from dataclasses import replace

import numpy as np

from app.chassis import bore_check, set_up
from app.chassis.characteristics import characteristics
from app.chassis.derivatives import Inputs
from app.chassis.preparation import prepare
from app.chassis.set_up import SetUp
from app.chassis.survey import Reference, Survey
from app.chassis.trials.head import Trials, trials_of
from tests.chassis.poses import INSTRUMENT, Key, Pose, survey

SOUND = Pose()
SMALL_TURN = Pose(
    targets={"upper": (60.0, -40.0, 200.0), "lower": (60.0, -40.0, -300.0)},
    stations={"s1": -7.0, "s2": 0.0, "s3": 7.0, "s4": 3.5},
    returns={},
)
"""Stacked targets, seven degrees to each side: with 0.08 mm, u(radius)/radius is 0.14."""


def sound(seed: int = 1) -> Survey:
    return survey(SOUND.points(), noise=0.1, seed=seed)


def small_turn(u: float = 0.08) -> Survey:
    instrument = replace(INSTRUMENT, standard_uncertainty_mm=u)
    return survey(SMALL_TURN.points(), instrument=instrument)


def everything_at_once(seed: int = 2) -> Survey:
    """Bores beside arcs, points of an anisotropic instrument, a known spacing of targets, offsets,
    scale, warmth, several points of each face."""
    points: list[tuple[Key, np.ndarray]] = SOUND.points()
    points += [(("head_bore", None, None), SOUND.on_bore(height)) for height in (4.0, 140.0)]
    points += [(("head_face", None, None), SOUND.on_face(22.0, a)) for a in (20.0, -100.0)]
    points += [(("pivot_face", "left", None), np.array([-12.0, 120.0, 3.0]))]
    generator = np.random.default_rng(seed)
    shapes = [0.1 * (np.eye(3) + 0.4 * generator.normal(size=(3, 3))) for _ in range(4)]
    upper, lower = (SOUND.target(name, 0.0) for name in ("upper", "lower"))
    return survey(
        points,
        noise=0.1,
        seed=seed,
        temperature=31.0,
        instrument=replace(INSTRUMENT, offset_u_mm=0.02, scale_u_ppm=40.0, probe_radius_mm=3.0),
        cov={i: shape @ shape.T for i, shape in zip((0, 6, 9, 12), shapes, strict=True)},
        target_spacing=(("upper", "lower", float(np.linalg.norm(upper - lower)), 0.03),),
    )


def solved(taken: Survey, reference: Reference | None = None) -> tuple[SetUp, Trials]:
    reference = reference or SOUND.reference()
    checked = set_up.check(bore_check.check(prepare(taken, reference)).chosen)
    noisier = checked.noise.birge_ratio > 1.0
    inputs = Inputs(
        checked.prepared, checked.stack, checked.fitted, checked.pivot, checked.steering, noisier
    )
    found = characteristics(checked, reference)
    return checked, trials_of(inputs, found.degrees_of_freedom)
