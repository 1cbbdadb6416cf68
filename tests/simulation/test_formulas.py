"""The engine's formulas against what the simulator knows of the same machine by its own algebra."""

import math
from dataclasses import replace

import numpy as np
import pytest

from app.chassis.characteristic_units import unit_of
from app.chassis.formulas.everything import Computed, computed
from app.demonstration.extent import Extent
from app.demonstration.handling_truth import Running, handling_values
from app.demonstration.machine import SOUND, Arm, Machine
from app.demonstration.machine_truth import Terms, true_values
from app.demonstration.session import Session, draw_session
from app.demonstration.vectors import turned
from tests.demonstration.machines import BENT, PLAIN
from tests.simulation.ideal import Seen, reference_of

CONTROLS = SOUND.controls
DISTANCES = (("engine_front_left", "engine_rear_right"), ("engine_front_right", "engine_rear_left"))
WEIGHTS = {"engine_front_left": 2.0, "seat_rear": 0.5}
RULES = (
    Terms("by_control", 0.0, CONTROLS, WEIGHTS, DISTANCES),
    Terms("by_line", 0.0, CONTROLS, {}, DISTANCES),
    Terms("by_height", 331.0, CONTROLS, WEIGHTS),
    Terms("by_angle", 25.0, CONTROLS),
)
RUNNING = Running(attitude_deg=0.7)


def seen(machine: Machine, seed: int) -> tuple[Seen, Session]:
    rng = np.random.default_rng(seed)
    session = draw_session(machine, Extent(), rng)
    motion = turned(rng.normal(size=3) * 2.0), rng.uniform(-2000.0, 2000.0, 3)
    return Seen(machine, session, motion), session


def in_units(found: Computed) -> dict[str, float]:
    return {
        key: math.degrees(float(value.value)) if unit_of(key) == "deg" else float(value.value)
        for key, value in found.values.items()
    }


@pytest.mark.parametrize("machine", [SOUND, PLAIN, BENT], ids=["sound", "plain", "bent"])
@pytest.mark.parametrize("terms", RULES, ids=[str(terms.levelling) for terms in RULES])
@pytest.mark.parametrize("seed", range(3))
def test_every_characteristic_is_the_true_one(machine: Machine, terms: Terms, seed: int) -> None:
    eyes, session = seen(machine, seed)
    found = in_units(computed(eyes.associated(), reference_of(terms)))
    assert found == pytest.approx(true_values(machine, terms, session), abs=1e-8)


@pytest.mark.parametrize("droop", [-30.0, 0.0, 60.0, 85.0])
def test_an_arm_is_the_same_however_it_hangs(droop: float) -> None:
    machine = replace(PLAIN, arm=replace(PLAIN.arm or Arm(), droop_deg=droop))
    eyes, session = seen(machine, 4)
    found = in_units(computed(eyes.associated(), reference_of(RULES[0])))
    assert found == pytest.approx(true_values(machine, RULES[0], session), abs=1e-8)


@pytest.mark.parametrize("terms", RULES, ids=[str(terms.levelling) for terms in RULES])
def test_handling_is_the_true_one(terms: Terms) -> None:
    eyes, session = seen(BENT, 9)
    found = computed(eyes.associated(), reference_of(terms, RUNNING)).handling
    angle = true_values(BENT, terms, session)["head_angle"]
    values = {name: float(figure.value) for name, figure in found.items()}
    assert values == pytest.approx(handling_values(BENT, angle, RUNNING), abs=1e-8)
