"""The surveys whose results are stored, made by the simulator from invented machines.

Run with a folder, once for each version of the engine, it writes a file for each of them:
`python -m tests.chassis.make_stored FOLDER`.
"""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from app.chassis.evaluate import evaluate
from app.chassis.result import ENGINE_VERSION
from app.chassis.survey import Options, Reference, Survey, Tolerance
from app.demonstration.extent import EVERY, Extent
from app.demonstration.full_survey import CRASHED, EXTENT, LIMITS, RUNNING, terms
from app.demonstration.machine import SOUND, Machine
from app.demonstration.machine_survey import measure
from app.demonstration.machine_truth import Terms, true_values
from app.demonstration.rigs import with_slip
from tests.chassis.stored import plain, reference_as_stored, survey_as_stored, text_of
from tests.simulation.ideal import handling_of, reference_of

RIG = EXTENT.rig
ALONE = replace(RIG, targets=(), head_face_points=0, bore_mm=())
MATERIALS = {"frame": "steel", "arm": "aluminium", "fork": "steel", "wheel": "aluminium"}
Made = tuple[str, Extent, Terms]

BY_LINE = replace(terms(), levelling="by_line")
BY_ANGLE = Terms("by_angle", 24.0)
KINDS: dict[str, Made] = {
    "by_angle_with_bore": (
        "head by angle; two bore points, three points on each face, targets seen twice",
        replace(EXTENT, features=(), rig=replace(RIG, face_points=3)),
        BY_ANGLE,
    ),
    "anisotropic": (
        "all but wheels, by an instrument that sees badly in depth",
        replace(EXTENT, depth_mm=0.3, features=tuple(f for f in EVERY if "rim" not in f)),
        terms(),
    ),
    "arm_alone": (
        "datum and swing arm",
        replace(EXTENT, rig=ALONE, features=("rear_axle", "axle_face")),
        Terms(),
    ),
    "tail_by_control": (
        "datum, pairs and control points, levelled by these",
        replace(EXTENT, rig=ALONE, features=("pair", "control"), returned=("control",)),
        terms(),
    ),
    "by_line": (
        "head, pairs and further axes, levelled by a line; points of a kind measured twice",
        replace(EXTENT, features=("level_line", "pair", "axis"), replicates=2, returned=()),
        BY_LINE,
    ),
    "whole": ("every feature, limits on everything, handling", EXTENT, terms()),
    "fork_and_wheels": (
        "fork and wheels, both rims measured again half a turn on",
        replace(EXTENT, features=("fork_leg", "front_rim", "rear_rim"), half_turn=True),
        BY_ANGLE,
    ),
    "one_edge": (
        "wheels by one edge of each rim and its width",
        replace(EXTENT, features=("front_rim", "rear_rim"), edges=("right",), returned=()),
        replace(BY_ANGLE, levelling="by_height", nominal=320.0),
    ),
    "noisier": (
        "every feature, with three times the scatter that the instrument claims",
        replace(EXTENT, rig=replace(RIG, noise_mm=0.3)),
        terms(),
    ),
    "moved": (
        "every feature, the set-up slipped by 3 mm before what was measured again",
        replace(EXTENT, rig=with_slip(RIG, (1.0, 2.0, -2.0)), returned=("control", "axle_face")),
        terms(),
    ),
}


def stored_surveys() -> tuple[str, ...]:
    """Names of the files."""
    return tuple(f"{name}_{ENGINE_VERSION}" for name in KINDS)


def write(folder: Path) -> None:
    for number, (name, made) in enumerate(zip(stored_surveys(), KINDS.values(), strict=True)):
        text = _text(made, 2026_0000 + number)
        (folder / f"{name}.json").write_text(text, encoding="utf-8")


def _text(made: Made, seed: int) -> str:
    about, extent, under = made
    survey = _survey(extent, seed)
    reference = _reference(under)
    result = plain(evaluate(survey, reference, Options(monte_carlo=0)))
    # What another survey may share is told only when asked for.
    del result["shared"]
    return text_of(
        {
            "about": f"Invented machine, seed {seed}: {about}; columns: feature, label, station, "
            "turn, x, y, z, u, offset (mm)",
            "survey": survey_as_stored(survey),
            "reference": reference_as_stored(reference),
            "result": result,
        }
    )


def _survey(extent: Extent, seed: int) -> Survey:
    """Rounded as a person would write it; the scatter is claimed to be 0.1 mm."""
    survey = measure(CRASHED, extent, np.random.default_rng(seed)).survey
    x, y, z = (round(part, 6) for part in survey.up or (0.0, 0.0, 1.0))
    return replace(
        survey,
        xyz=np.round(survey.xyz, 4),
        up=(x, y, z),
        cov={row: np.round(matrix, 9) for row, matrix in survey.cov.items()},
        instrument=replace(survey.instrument, standard_uncertainty_mm=0.1),
        fork_runout_mm={"left": 0.12} if "fork_leg" in survey.feature else {},
    )


def _reference(under: Terms) -> Reference:
    return replace(
        reference_of(under),
        characteristics=_limits(SOUND, under),
        materials=MATERIALS,
        handling=handling_of(RUNNING),
        rim_width_mm={"front": 90.0, "rear": 150.0},
    )


def _limits(machine: Machine, under: Terms) -> dict[str, Tolerance]:
    """A limit on each characteristic that the levelling does not set, none on the pivot's width."""
    set_key = {"by_height": "head_height", "by_angle": "head_angle"}.get(under.levelling or "")
    found = {}
    for key, value in true_values(machine, under).items():
        limit = None if key == set_key else LIMITS.get(key.split(".")[0])
        bound = (None, None) if limit is None else (-limit, limit)
        found[key] = Tolerance(under.nominal if key == set_key else round(value, 3), *bound)
    return found


if __name__ == "__main__":
    write(Path(sys.argv[1]))
