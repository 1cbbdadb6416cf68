"""Invented machines of one model, each measured by the simulator."""

from dataclasses import replace

import numpy as np

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
