"""References from machines in order: what stands in them, what is told, what is refused."""

import json
from typing import Any

import numpy as np
import pytest

from app import resources
from app.demonstration.seed_files import MOVED, NOMINAL, reference
from app.demonstration.seed_files import survey as simulated
from app.errors import BadInput, NotAllowed
from app.schemas.machine_reference import FromJobsIn, MachineReferenceOut, StatisticsIn
from app.schemas.reading import read_reference, reference_from, survey_from
from app.schemas.reference import MachineModelIn
from app.services import check_in, jobs, surveys
from app.services.machine_references import Machine, from_machines
from app.services.references_from_jobs import from_jobs
from app.services.solving import solve
from tests.services.certifying import Bench
from tests.services.documents import SOUND, survey_document
from tests.services.forms import check_in_form
from tests.services.machines import full_machines, machines, survey

BASE = reference_from(reference())
FULL = read_reference((resources.seed_data() / "full-reference.json").read_bytes())
USUAL = StatisticsIn()


@pytest.fixture(scope="module")
def twelve() -> MachineReferenceOut:
    return from_machines(machines(12), BASE, None, USUAL)


def lines(made: MachineReferenceOut) -> dict[str, Any]:
    found = made["reference"]["characteristics"]
    assert isinstance(found, dict)
    return found


def told(made: MachineReferenceOut) -> dict[str, Any]:
    return {one["key"]: one for one in made["report"]["characteristics"]}


def codes(made: MachineReferenceOut) -> set[tuple[str, str | None]]:
    return {(one["code"], one["feature"]) for one in made["report"]["warnings"]}


def refused(*args: Any) -> list[tuple[str, str]]:
    with pytest.raises(BadInput) as caught:
        from_machines(*args)
    return [(problem.code, problem.field) for problem in caught.value.problems]


def test_nominals_are_means_and_limits_the_tolerance_interval(twelve: MachineReferenceOut) -> None:
    values = [
        next(
            c["value"]
            for c in solve(one.survey, BASE)["characteristics"]
            if c["key"] == "head_twist"
        )
        for one in machines(12)
    ]
    line, said = lines(twelve)["head_twist"], told(twelve)["head_twist"]
    assert line["nominal"] == pytest.approx(np.mean(values), abs=5.1e-4)
    half = said["factor"] * np.std(values, ddof=1)
    assert said["factor"] == pytest.approx(2.670, abs=5e-4), "12 values, 90 % at 95 %"
    assert line["upper"] == pytest.approx(half, abs=5.1e-4)
    assert line["lower"] == -line["upper"]
    assert said["upper"] == pytest.approx(half, rel=1e-9)
    assert [one["value"] for one in said["values"]] == pytest.approx(values, rel=1e-12)


def test_it_is_a_reference_that_judges_machines(twelve: MachineReferenceOut) -> None:
    document = json.loads(json.dumps(twelve["reference"]))
    made = reference_from(document)
    assert made.provenance is not None
    assert made.provenance.kind == "measured_machines"
    detail = made.provenance.detail or ""
    assert "12 machines" in detail
    assert "90 %" in detail
    assert "95 %" in detail
    assert "machine 11" in detail
    assert made.levelling == "by_height"
    assert made.machine == BASE.machine
    assert made.characteristics["head_height"].nominal == 320.0
    assert not made.characteristics["head_height"].has_limit
    sound = solve(survey(100), made)
    bent = solve(survey(101, twist=2.0), made)
    assert {c["key"]: c["verdict"] for c in bent["characteristics"]}["head_twist"] == "outside"
    assert {c["key"]: c["verdict"] for c in sound["characteristics"]}["head_reach"] == "within"


def test_the_report_says_what_the_limits_are_and_are_not(twelve: MachineReferenceOut) -> None:
    report = twelve["report"]
    assert (report["content"], report["confidence"], report["significance"]) == (0.9, 0.95, 0.05)
    words = " ".join(report["sentences"])
    assert "not what the maker allows" in words
    assert "neither widened nor narrowed" in words
    assert ("few_machines", None) not in codes(twelve)
    twist = told(twelve)["head_twist"]
    assert 0.02 < twist["measurement_uncertainty"] < twist["deviation"]
    assert told(twelve)["axis_distance"]["shared_uncertainty"] > 0.01


def test_the_limits_are_those_of_machines_and_measuring_together(
    twelve: MachineReferenceOut,
) -> None:
    """The true scatter was drawn as 0.1°; what is measured scatters more, and so is said."""
    twist = told(twelve)["head_twist"]
    expected = np.hypot(0.1, twist["measurement_uncertainty"])
    assert twist["deviation"] == pytest.approx(expected, rel=0.5)
    assert twist["upper"] == pytest.approx(twist["factor"] * twist["deviation"], rel=1e-12)


def test_few_machines_are_taken_with_a_warning_and_too_few_are_not() -> None:
    made = from_machines(machines(3), BASE, None, USUAL)
    assert ("few_machines", None) in codes(made)
    assert told(made)["head_twist"]["factor"] == pytest.approx(8.306, abs=5e-4)
    assert refused(machines(2), BASE, None, USUAL) == [("too_few_machines", "surveys")]


def test_a_machine_far_out_is_shown_and_stays_until_a_person_leaves_it_out() -> None:
    bent = Machine("the odd one", survey(50, twist=1.5))
    made = from_machines([*machines(8), bent], BASE, None, USUAL)
    assert ("outlier", "head_twist") in codes(made)
    said = told(made)["head_twist"]
    assert said["outlier_test"]["machine"] == "the odd one"
    assert said["machines"] == 9

    left_out = bent._replace(left_out_because="was crashed before, as its owner says")
    without = from_machines([*machines(8), left_out], BASE, None, USUAL)
    said = told(without)["head_twist"]
    assert said["machines"] == 8
    assert said["upper"] < 0.5 * told(made)["head_twist"]["upper"]
    shown = [one for one in said["values"] if one["left_out"]]
    assert [one["machine"] for one in shown] == ["the odd one"]
    provenance = without["reference"]["provenance"]
    assert isinstance(provenance, dict)
    assert "the odd one (was crashed before, as its owner says)" in provenance["detail"]
    assert "8 machines" in provenance["detail"]
    assert "the odd one" in {m["name"] for m in without["report"]["machines"]}


def test_content_confidence_and_model_are_chosen() -> None:
    wide = StatisticsIn(content=0.99, confidence=0.99)
    model = MachineModelIn(make="Invented Works", model="Example 900")
    made = from_machines(machines(5), BASE, model, wide)
    usual = from_machines(machines(5), BASE, None, USUAL)
    ratio = told(made)["head_twist"]["upper"] / told(usual)["head_twist"]["upper"]
    assert ratio == pytest.approx(10.220 / 4.291, rel=1e-3)
    assert made["reference"]["machine"] == {"make": "Invented Works", "model": "Example 900"}
    assert "99 % of all at 99 %" in lines(made)["head_twist"]["source"]


def test_without_a_base_only_what_needs_no_levelling_is_told() -> None:
    made = from_machines(machines(4), None, None, USUAL)
    assert {"head_twist", "head_offset", "axis_distance", "face_position", "pivot_width"} <= set(
        lines(made)
    )
    assert not {"head_reach", "head_height", "head_angle"} & set(lines(made))
    reference_from(json.loads(json.dumps(made["reference"])))


def test_what_the_base_names_and_no_machine_has_is_said() -> None:
    document = reference()
    document["characteristics"]["axle_toe"] = {"nominal": 0.0, "lower": -0.2, "upper": 0.2}
    made = from_machines(machines(4), reference_from(document), None, USUAL)
    assert ("not_measured", "axle_toe") in codes(made)
    assert "axle_toe" not in lines(made)


@pytest.fixture(scope="module")
def full() -> MachineReferenceOut:
    return from_machines(full_machines(6), FULL, None, USUAL)


def test_control_points_stand_where_the_machines_have_them(full: MachineReferenceOut) -> None:
    """The mean over the machines, evaluated again by the new reference, is the nominal."""
    assert ("points_moved", None) in codes(full)
    made = reference_from(json.loads(json.dumps(full["reference"])))
    moved = [
        abs(here - there)
        for name, place in made.control_points.items()
        for here, there in zip(place, FULL.control_points[name], strict=True)
    ]
    assert 0.1 < max(moved) < 2.0
    again = [solve(one.survey, made) for one in full_machines(6)]
    for key in ("head_reach", "datum_roll", "datum_shift", "pair_roll.tail", "arm_length"):
        values = [
            line["value"] for one in again for line in one["characteristics"] if line["key"] == key
        ]
        assert len(values) == 6
        nominal = made.characteristics[key].nominal
        assert np.mean(values) == pytest.approx(nominal, abs=1.5e-3), key
    for key, line in told(full).items():
        if key.startswith("control."):
            assert line["mean"] == pytest.approx(0.0, abs=1e-3), key
            assert made.characteristics[key].nominal is None
            assert made.characteristics[key].upper == pytest.approx(line["upper"], abs=5.1e-4)


def test_limits_that_no_measurement_could_decide_are_named(full: MachineReferenceOut) -> None:
    narrow = [key for key, line in told(full).items() if line["narrower_than_measuring"]]
    assert narrow
    message = next(
        one["message"]
        for one in full["report"]["warnings"]
        if one["code"] == "narrower_than_measuring"
    )
    assert all(told(full)[key]["name"] in message for key in narrow)
    assert not told(full)["pair_offset.tail"]["narrower_than_measuring"]


def test_machines_that_are_one_and_the_same_are_refused() -> None:
    same = [*machines(3), Machine("again", survey(1))]
    assert refused(same, BASE, None, USUAL) == [("survey_twice", "surveys.3")]
    named = [*machines(3), Machine("machine 1", survey(9))]
    assert refused(named, BASE, None, USUAL) == [("machine_named_twice", "surveys.3")]


def test_a_set_up_that_moved_and_a_refused_survey_are_named() -> None:
    moved = Machine("moved", survey_from(simulated(NOMINAL, MOVED, 7, "before")))
    broken = survey_from(
        {
            **simulated(NOMINAL, MOVED, 8, "before"),
            "points": [{"feature": "pivot", "label": "left", "x": 0.0, "y": 250.0, "z": 0.0}],
        }
    )
    several = [*machines(3), moved, Machine("broken", broken)]
    assert refused(several, BASE, None, USUAL) == [
        ("set_up_moved_on", "surveys.3"),
        ("machine_refused", "surveys.4"),
    ]
    kept = [*machines(3), *(m._replace(left_out_because="see note") for m in several[3:])]
    made = from_machines(kept, BASE, None, USUAL)
    assert told(made)["head_twist"]["machines"] == 3


def test_so_many_left_out_are_too_many() -> None:
    several = [*machines(3), *(Machine(f"x{i}", survey(i + 40), "no") for i in range(21))]
    assert refused(several, BASE, None, USUAL) == [("too_many_left_out", "surveys")]


def test_stored_measurements_make_a_reference(job: Bench) -> None:
    shop, numbers = job.workshop, [job.number]
    for place in (2, 3):
        form = check_in_form()
        form["machine"]["frame_number"] = f"ZZZMORE0000000{place:03d}"
        numbers.append(shop.do(check_in.check_in, "desk", form).job_number)
        shop.do(jobs.fix_instrument, "technician", numbers[-1], job.ready.instrument_id)
    for seed, number in enumerate(numbers):
        sent = survey_document(SOUND, seed=seed, measured_at="2026-03-02T09:00:00+01:00")
        shop.do(surveys.submit, "technician", number, {**sent, "phase": "before"})
    wish = FromJobsIn.model_validate(
        {
            "measurements": [{"job": number, "survey": 1} for number in numbers],
            "base_reference_id": job.ready.reference_id,
        }
    )
    made = shop.see(from_jobs, "technician", wish)
    assert [one["name"] for one in made["report"]["machines"]] == [f"{n}/1" for n in numbers]
    assert {one["instrument"] for one in made["report"]["machines"]} == {"arm 2"}
    assert "head_reach" in lines(made)
    assert shop.counts()["reference"] == 1, "nothing is stored"


def test_a_machine_on_record_counts_once(done: Bench) -> None:
    wish = FromJobsIn.model_validate(
        {"measurements": [{"job": done.number, "survey": 1}, {"job": done.number, "survey": 2}]}
    )
    with pytest.raises(BadInput, match="machine_twice"):
        done.workshop.see(from_jobs, "inspector", wish)


def test_who_may_read_neither_makes_none(done: Bench) -> None:
    wish = FromJobsIn.model_validate({"measurements": []})
    nobody = done.workshop.people["desk"].__class__(1, "nobody", frozenset())
    with done.workshop.database.read() as session, pytest.raises(NotAllowed):
        from_jobs(session, nobody, wish)
