"""Gauge studies and handedness checks, kept with the instrument."""

import json
from typing import Any

import pytest

from app.errors import BadInput, Conflict, NotAllowed, NotFound, Refusal
from app.records.permanence import PermanentRecord
from app.records.tables import GaugeStudy, HandednessCheck
from app.schemas.gauge_study import gauge_study_from
from app.services import gauge_studies, handedness_checks, instruments
from app.services.gauge_evaluation import evaluated
from tests.services.documents import ARM, calibration
from tests.services.instrument_facts import gauge_study, text, turned_steering
from tests.services.workshop import Workshop


def arm(workshop: Workshop) -> int:
    return workshop.do(instruments.create, "inspector", ARM).id


def test_a_study_is_kept_with_its_result(workshop: Workshop) -> None:
    instrument_id = arm(workshop)
    sent = gauge_study(instrument="arm 2", quantity="spacing of two holes", tolerance_width=2.0)
    made = workshop.do(gauge_studies.record, "technician", instrument_id, sent)

    assert made.document == json.loads(gauge_study_from(sent).model_dump_json(exclude_none=True))
    assert made.result == json.loads(json.dumps(evaluated(gauge_study_from(sent))))
    assert (made.result["parts"], made.result["people"]) == (
        [f"p{i}" for i in range(1, 6)],
        ["A", "B", "C"],
    )
    assert made.recorded_by == "Tove"
    table = "part,person,trial,value\n" + "".join(
        f"{one['part']},{one['person']},{one['trial']},{one['value']}\n" for one in sent["readings"]
    )
    again = workshop.do(gauge_studies.record, "inspector", instrument_id, table)
    assert again.result["anova"]["table"] == made.result["anova"]["table"]
    assert workshop.see(gauge_studies.listing, "desk", instrument_id) == (again, made)
    assert workshop.see(gauge_studies.read, "desk", instrument_id, made.id) == made
    with pytest.raises(PermanentRecord):
        workshop.tamper(GaugeStudy, made.id, result="{}")


def test_what_is_no_study_of_this_instrument(workshop: Workshop) -> None:
    instrument_id = arm(workshop)
    for sent, code in (
        (gauge_study(instrument="arm 9"), "other_instrument"),
        (gauge_study(format="jigbook.survey/1"), "not_a_gauge_study"),
        (gauge_study(measured_at="2026-09-01T12:00:00+01:00"), "in_the_future"),
    ):
        with pytest.raises(BadInput, match=code):
            workshop.do(gauge_studies.record, "technician", instrument_id, sent)
    for role in ("desk", "owner"):
        with pytest.raises(NotAllowed):
            workshop.do(gauge_studies.record, role, instrument_id, gauge_study())
    with pytest.raises(NotFound, match="no_such_gauge_study"):
        workshop.see(gauge_studies.read, "desk", instrument_id, 4)


def test_a_turn_to_the_left_shows_right_handed_axes(workshop: Workshop) -> None:
    instrument_id = arm(workshop)
    made = workshop.do(
        handedness_checks.record, "technician", instrument_id, text(turned_steering())
    )
    assert made.verdict == "right_handed"
    assert made.left_turn_deg == pytest.approx(40.0, abs=1e-6)
    assert (made.targets, made.stations) == (2, 4)
    assert made.measured_at == workshop.now
    mirrored = workshop.do(
        handedness_checks.record, "technician", instrument_id, turned_steering(mirrored=True)
    )
    assert mirrored.verdict == "left_handed"
    assert workshop.see(handedness_checks.listing, "desk", instrument_id) == (mirrored, made)
    with pytest.raises(PermanentRecord):
        workshop.tamper(HandednessCheck, mirrored.id, verdict="right_handed")


def test_what_a_check_does_not_say_of_its_instrument_comes_from_the_calibration(
    workshop: Workshop,
) -> None:
    made = workshop.do(instruments.create, "inspector", ARM, calibration=calibration())
    sent = turned_steering()
    sent["points"] = [{k: v for k, v in p.items() if k != "u"} for p in sent["points"]]
    view = workshop.do(handedness_checks.record, "technician", made.id, sent)
    assert view.verdict == "right_handed"


def test_what_shows_no_handedness(workshop: Workshop) -> None:
    instrument_id = arm(workshop)

    def record(sent: dict[str, Any], role: str = "technician") -> None:
        workshop.do(handedness_checks.record, role, instrument_id, sent)

    unmarked = turned_steering()
    unmarked["points"] = [{k: v for k, v in p.items() if k != "turn"} for p in unmarked["points"]]
    with pytest.raises(Refusal, match="turn_not_stated"):
        record(unmarked)
    with pytest.raises(Refusal, match="up_unusable"):
        record({k: v for k, v in turned_steering().items() if k != "up"})
    with pytest.raises(BadInput, match="other_instrument"):
        record(turned_steering(instrument={"name": "arm 9"}))
    with pytest.raises(NotAllowed):
        record(turned_steering(), "desk")
    workshop.do(instruments.retire, "owner", instrument_id, "dropped")
    with pytest.raises(Conflict, match="instrument_retired"):
        record(turned_steering())
