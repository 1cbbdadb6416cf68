"""Invented machines of one model, each measured by the simulator."""

import copy
import json
from dataclasses import replace

import numpy as np

from app import resources
from app.demonstration.seed_files import NOMINAL, RIG
from app.demonstration.seed_files import survey as simulated
from app.schemas.reading import survey_from
from app.schemas.survey import SurveyIn
from app.services.machine_references import Machine


def survey(seed: int, twist: float | None = None) -> SurveyIn:
    """Machines scatter by 0.1° of twist, 0.4 mm sideways, 0.8 mm of reach."""
    rng = np.random.default_rng(seed)
    pose = replace(
        NOMINAL,
        head_twist_deg=rng.normal(0.0, 0.1) if twist is None else twist,
        head_offset_mm=rng.normal(0.0, 0.4),
        head_reach_mm=NOMINAL.head_reach_mm + rng.normal(0.0, 0.8),
    )
    return survey_from(simulated(pose, RIG, seed, "before"))


def machines(count: int) -> list[Machine]:
    return [Machine(f"machine {seed}", survey(seed)) for seed in range(count)]


def full_machines(count: int) -> list[Machine]:
    """Machines measured in full: the seed survey, each with its control points, pairs and further
    axes shaken by 0.5 mm and everything else by 0.03 mm."""
    document = json.loads((resources.seed_data() / "full-survey.json").read_text())
    made = []
    for seed in range(count):
        rng = np.random.default_rng(seed)
        shaken = copy.deepcopy(document)
        for point in shaken["points"]:
            wide = point["feature"] in ("control", "pair", "axis")
            for axis in "xyz":
                point[axis] = round(point[axis] + rng.normal(0.0, 0.5 if wide else 0.03), 3)
        made.append(Machine(f"full {seed}", survey_from(shaken)))
    return made
