"""Rigs for whole machines and for parts of them, with the terms they are measured under."""

from dataclasses import dataclass, replace

from app.chassis.survey import Reference
from app.demonstration.extent import ALUMINIUM, EVERY, STEEL, Extent, Warmth
from app.demonstration.handling_truth import Running
from app.demonstration.machine import SOUND, Machine
from app.demonstration.machine_truth import Terms
from app.demonstration.rigs import Rig
from tests.demonstration.machines import BENT
from tests.simulation.ideal import reference_of

WARMTH = Warmth(27.0, per_k={"frame": STEEL, "arm": ALUMINIUM, "wheel": ALUMINIUM})
MATERIALS = {"frame": "steel", "arm": "aluminium", "fork": "steel", "wheel": "aluminium"}
WIDTHS = {"front": 90.0, "rear": 150.0}
RUNNING = Running(attitude_deg=0.7)
FEW_POINTS = replace(
    BENT,
    controls={name: at for name, at in BENT.controls.items() if name != "engine_rear_right"},
    pairs={"tail": BENT.pairs["tail"]},
    axes={"linkage": BENT.axes["linkage"]},
)
"""One pair, one axis and four control points: of each kind enough for its characteristics."""
NO_STEERING = Rig(targets=(), head_face_points=0)
BY_CONTROL = Terms(
    "by_control",
    controls=SOUND.controls,
    weights={"engine_front_left": 2.0, "seat_rear": 0.5},
    distances=(
        ("engine_front_left", "engine_rear_right"),
        ("engine_front_right", "engine_rear_left"),
    ),
)
BY_LINE = replace(BY_CONTROL, levelling="by_line")
BY_HEIGHT = replace(BY_CONTROL, levelling="by_height", nominal=321.0)
BY_ANGLE = replace(BY_CONTROL, levelling="by_angle", nominal=24.0)


@dataclass(frozen=True)
class Measuring:
    extent: Extent
    terms: Terms
    machine: Machine = BENT

    @property
    def reference(self) -> Reference:
        return replace(
            reference_of(self.terms, RUNNING),
            materials=MATERIALS,
            rim_width_mm=WIDTHS,
            face_squareness_deg=self.extent.rig.face_squareness_deg,
        )


WHOLE = Measuring(Extent(warmth=WARMTH), BY_CONTROL)
OF_EACH_KIND = Measuring(
    WHOLE.extent,
    replace(BY_CONTROL, distances=(("engine_front_right", "engine_rear_left"),)),
    FEW_POINTS,
)
OTHERS = {
    "seen_badly_in_depth": Measuring(
        Extent(
            depth_mm=0.4,
            warmth=WARMTH,
            features=tuple(feature for feature in EVERY if not feature.endswith("rim")),
            returned=("control", "pair", "rear_axle", "axle_face", "axis", "level_line"),
        ),
        BY_LINE,
    ),
    "many_points": Measuring(
        Extent(
            warmth=WARMTH,
            replicates=2,
            axis_points=3,
            axle_mm=(160.0, 20.0, -150.0),
            axle_face_points=3,
            leg_mm=(160.0, 0.0, -140.0),
            rim_points=5,
            half_turn=True,
            returned=("front_rim", "rear_rim", "axis"),
        ),
        BY_ANGLE,
    ),
    "one_edge": Measuring(
        Extent(
            rig=replace(WHOLE.extent.rig, bore_mm=(5.0, 160.0)),
            spacing_u_mm=0.03,
            warmth=WARMTH,
            edges=("left",),
            features=("front_rim", "rear_rim", "fork_leg"),
        ),
        BY_HEIGHT,
    ),
    "arm_alone": Measuring(
        Extent(rig=NO_STEERING, warmth=WARMTH, features=("rear_axle", "axle_face")), Terms()
    ),
    "tail_alone": Measuring(
        Extent(rig=NO_STEERING, warmth=WARMTH, features=("pair", "control", "axis", "level_line")),
        BY_LINE,
    ),
}
