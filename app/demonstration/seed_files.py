"""The files in `seed_data/` to try by hand: an invented model, measured by the simulator.

Made again with `python -m app.demonstration.seed_files FOLDER`.
"""

import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from app.demonstration.full_survey import full_reference, full_survey
from app.demonstration.pose import Pose, truth
from app.demonstration.rigs import Rig
from app.demonstration.simulator import as_document, simulate

NOMINAL = Pose()
BENT = replace(NOMINAL, head_twist_deg=-1.1, head_reach_mm=689.0, head_offset_mm=2.6)
CORRECTED = replace(NOMINAL, head_twist_deg=0.04, head_reach_mm=699.6, head_offset_mm=0.2)
RIG = Rig(pivot_mm=(250.0, -250.0), head_face_points=3)
MOVED = replace(RIG, slip_mm=(0.0, 2.5, 1.5))

LIMITS: dict[str, tuple[float, float]] = {
    "head_twist": (-0.3, 0.3),
    "head_offset": (-2.0, 2.0),
    "axis_distance": (-3.0, 3.0),
    "face_position": (-3.0, 3.0),
    "head_reach": (-4.0, 4.0),
    "head_angle": (-0.6, 0.6),
}
SOURCES = {"head_twist": "common practice, no source"}
INVENTED = "invented, to try Jigbook with"
INSTRUMENT = "invented measuring arm"

CSV_COLUMNS = ("feature", "label", "station", "x", "y", "z", "u", "offset", "turn")


def reference() -> dict[str, Any]:
    """The invented model as it left its invented works."""
    values = truth(NOMINAL, "by_height", NOMINAL.head_height_mm)
    lines: dict[str, Any] = {
        key: {
            "nominal": round(values[key], 3),
            "lower": lower,
            "upper": upper,
            "required": True,
            "source": SOURCES.get(key, INVENTED),
        }
        for key, (lower, upper) in LIMITS.items()
    }
    lines["head_height"] = {"nominal": round(values["head_height"], 3)}
    lines["pivot_width"] = {"nominal": NOMINAL.pivot_width_mm}
    return {
        "format": "jigbook.reference/1",
        "machine": {"make": "Invented Works", "model": "Example 700", "years": "2019-2022"},
        "materials": {"frame": "steel"},
        "levelling": "by_height",
        "provenance": {"kind": "invented", "detail": INVENTED},
        "characteristics": lines,
        "face_squareness_deg": RIG.face_squareness_deg,
        "repair": {"straightening": "unknown", "limit_mm": None},
    }


def survey(pose: Pose, rig: Rig, seed: int, phase: str) -> dict[str, Any]:
    """One survey of the invented machine. It states no moment: whoever tries it by hand sends it
    after the machine came in, and so the moment of sending stands. Nor does it state a calibration:
    that of the shop's own record stands, which does not run out with the file."""
    simulated = simulate(pose, rig, np.random.default_rng(seed))
    return as_document(
        simulated,
        phase=phase,
        by="Invented Technician",
        mounting="engine in, wheels out, on side stands (invented, made by the simulator)",
        instrument={"name": INSTRUMENT},
    )


def semicolons(document: dict[str, Any]) -> str:
    """The survey's points as a table with decimal commas, as many spreadsheets write it."""
    instrument = document["instrument"]
    rows = [";".join(CSV_COLUMNS)]
    for point in document["points"]:
        beside = {"u": instrument["standard_uncertainty_mm"]}
        if point["feature"].endswith("_face"):
            beside["offset"] = instrument["probe_radius_mm"]
        cells = {**beside, **point}
        rows.append(";".join(_cell(cells.get(column)) for column in CSV_COLUMNS))
    return "\n".join(rows) + "\n"


def _cell(value: object) -> str:
    if value is None:
        return ""
    return str(value).replace(".", ",") if isinstance(value, int | float) else str(value)


def files() -> dict[str, str]:
    """The content of every file by its name."""
    before = survey(BENT, RIG, 20260302, "before")
    after = survey(CORRECTED, RIG, 20260309, "after")
    moved = survey(BENT, MOVED, 20260303, "before")
    return {
        "reference.json": _json(reference()),
        "before-head-bent.json": _json(before),
        "after-corrected.json": _json(after),
        "before-set-up-moved.json": _json(moved),
        "before-head-bent.csv": semicolons(before),
        "full-reference.json": _json(full_reference()),
        "full-survey.json": _json(full_survey()),
    }


def _json(document: dict[str, Any]) -> str:
    """One point a line, so that a person can read it."""
    points = document.get("points", [])
    text = json.dumps({**document, **({"points": []} if points else {})}, indent=1)
    lines = ",\n  ".join(json.dumps(point) for point in points)
    return text.replace('"points": []', f'"points": [\n  {lines}\n ]') + "\n"


def write(folder: Path) -> None:
    for name, text in files().items():
        (folder / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    write(Path(sys.argv[1]))
