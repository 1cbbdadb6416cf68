"""Invented references and surveys for tests of the services."""

import copy
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from app.demonstration.pose import Pose
from app.demonstration.rigs import Rig
from app.demonstration.seed_files import NOMINAL, RIG, reference
from app.demonstration.simulator import as_document, simulate
from app.schemas.instrument import CalibrationIn, InstrumentIn

BENT = replace(NOMINAL, head_twist_deg=-1.1, head_reach_mm=689.0)
SOUND = replace(NOMINAL, head_twist_deg=0.03, head_offset_mm=0.2)
MOVED = replace(RIG, slip_mm=(0.0, 3.0, 2.0))
COARSE = replace(RIG, noise_mm=0.8)

ARM = InstrumentIn(name="arm 2", kind="measuring arm", serial_number="A-17")


def calibration(**changes: Any) -> CalibrationIn:
    """A calibration in force on the day of the tests."""
    figures = {
        "standard_uncertainty_mm": 0.1,
        "offset_u_mm": 0.02,
        "scale_u_ppm": 20.0,
        "probe_radius_mm": 3.0,
        "calibrated": "2026-01-10",
        "due": "2027-01-10",
        "laboratory": "Invented Laboratory",
    }
    return CalibrationIn.model_validate({**figures, **changes})


def reference_document(**changes: Any) -> dict[str, Any]:
    return {**copy.deepcopy(reference()), **changes}


def survey_document(
    pose: Pose = SOUND, rig: Rig = RIG, seed: int = 17, **header: Any
) -> dict[str, Any]:
    """A survey made by the simulator; its instrument is named only when the header does."""
    simulated = simulate(pose, rig, np.random.default_rng(seed))
    document = as_document(simulated, phase="before", **header)
    if not isinstance(header.get("instrument"), Mapping):
        document.pop("instrument", None)
    return document
