"""The check bar's log: judged when recorded, out of control until explained, never changed."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from pydantic import ValidationError

from app.errors import BadInput, Conflict, NotAllowed, NotFound
from app.records.permanence import PermanentRecord
from app.records.scope import scoped
from app.records.tables import CheckBar, CheckBarExplanation, CheckBarReading, Event
from app.schemas.check_bar import ExplanationIn
from app.services import audit_check, check_bars, instruments
from tests.services.documents import ARM, calibration
from tests.services.instrument_facts import STEADY, bar, measured, reading, with_bar
from tests.services.workshop import Workshop

WHY = ExplanationIn(reason="bar lay in the sun; measured again in the shade")


def test_a_bar_is_recorded_and_listed(workshop: Workshop) -> None:
    first = workshop.do(check_bars.add_bar, "owner", bar())
    again = workshop.do(
        check_bars.add_bar, "owner", bar(calibrated="2026-02-15", length_mm=500.001)
    )
    other = workshop.do(check_bars.add_bar, "inspector", bar(name="a short one", length_mm=200.0))

    assert workshop.see(check_bars.bars, "technician") == (other, again, first)
    with pytest.raises(Conflict, match="check_bar_known"):
        workshop.do(check_bars.add_bar, "owner", bar())
    with pytest.raises(NotAllowed):
        workshop.do(check_bars.add_bar, "technician", bar(name="x"))


def test_a_sound_instrument_stays_in_control(workshop: Workshop) -> None:
    arm, one = with_bar(workshop)
    assert workshop.see(check_bars.log, "desk", arm).standing == "never_checked"
    views = measured(workshop, arm, one, STEADY)

    log = workshop.see(check_bars.log, "desk", arm)
    assert (log.standing, log.unexplained) == ("in_control", 0)
    assert log.readings == tuple(reversed(views))
    some = workshop.see(check_bars.log, "desk", arm, limit=3, offset=2)
    assert (some.recorded, some.readings) == (10, log.readings[2:5])
    assert [view.limits is None for view in views] == [True] * 8 + [False] * 2
    newest = views[-1]
    assert newest.deviation_mm == pytest.approx(STEADY[-1], abs=1e-9)
    assert newest.readings_mm == pytest.approx((500.009, 499.989))
    assert newest.says == ("0.001 mm too short",)
    assert newest.limits is not None
    assert newest.limits.lower < newest.deviation_mm < newest.limits.upper
    assert newest.limits.readings == 9


def test_a_reading_out_of_control_waits_to_be_explained(workshop: Workshop) -> None:
    arm, one = with_bar(workshop)
    measured(workshop, arm, one, STEADY)
    (bad,) = measured(workshop, arm, one, [0.06])

    assert bad.signals == ("above_limit", "range", "average")
    assert workshop.see(check_bars.log, "desk", arm).standing == "out_of_control"
    (after,) = measured(workshop, arm, one, [0.001])
    assert after.in_control
    assert workshop.see(check_bars.log, "desk", arm).standing == "out_of_control"

    told = workshop.do(check_bars.explain, "inspector", arm, bad.id, WHY)
    assert told.explanation is not None
    assert (told.explanation.reason, told.explanation.by) == (WHY.reason, "Ines")
    assert (told.signals, told.in_control) == (bad.signals, False)
    assert workshop.see(check_bars.log, "desk", arm).standing == "in_control"


def test_only_some_may_explain_and_only_once(workshop: Workshop) -> None:
    arm, one = with_bar(workshop)
    good, bad = measured(workshop, arm, one, [0.0, 1.0])
    assert bad.signals == ("bias",)
    for role in ("desk", "technician"):
        with pytest.raises(NotAllowed):
            workshop.do(check_bars.explain, role, arm, bad.id, WHY)
    with pytest.raises(Conflict, match="reading_in_control"):
        workshop.do(check_bars.explain, "owner", arm, good.id, WHY)
    workshop.do(check_bars.explain, "owner", arm, bad.id, WHY)
    with pytest.raises(Conflict, match="reading_explained"):
        workshop.do(check_bars.explain, "owner", arm, bad.id, WHY)
    other = workshop.do(instruments.create, "owner", ARM.model_copy(update={"name": "arm 3"}))
    for instrument_id, reading_id in ((other.id, bad.id), (arm, 99)):
        with pytest.raises(NotFound, match="no_such_reading"):
            workshop.do(check_bars.explain, "owner", instrument_id, reading_id, WHY)


def test_a_shift_that_stays_is_seen_until_the_chart_begins_anew(workshop: Workshop) -> None:
    arm, one = with_bar(workshop)
    measured(workshop, arm, one, STEADY)
    shifted = [0.06 + deviation for deviation in STEADY]
    first, second = measured(workshop, arm, one, shifted[:2])
    assert first.signals
    assert second.signals
    anew = ExplanationIn(reason="probe changed (invented)", begin_anew=True)
    workshop.do(check_bars.explain, "owner", arm, first.id, WHY)
    workshop.do(check_bars.explain, "owner", arm, second.id, anew)
    later = measured(workshop, arm, one, shifted)
    assert all(view.in_control for view in later)
    assert [view.limits is None for view in later] == [True] * 8 + [False] * 2


def test_a_new_calibration_and_another_bar_have_charts_of_their_own(workshop: Workshop) -> None:
    arm, one = with_bar(workshop)
    measured(workshop, arm, one, STEADY)
    other = workshop.do(check_bars.add_bar, "owner", bar(name="bar 2", length_mm=500.06)).id
    (view,) = measured(workshop, arm, other, [0.06])
    assert view.limits is None
    workshop.do(instruments.calibrate, "owner", arm, calibration(calibrated="2026-03-02"))
    (view,) = measured(workshop, arm, one, [0.06])
    assert view.limits is None
    assert view.in_control


def test_what_is_stored_is_what_the_log_works_out_again(workshop: Workshop) -> None:
    arm, one = with_bar(workshop)
    measured(workshop, arm, one, [*STEADY, 0.06, 0.002, -0.05, 1.0, 0.0])
    log = workshop.see(check_bars.log, "desk", arm)
    beyond = [
        view.limits is not None and not view.limits.lower <= view.deviation_mm <= view.limits.upper
        for view in log.readings
    ]
    stored = [bool({"above_limit", "below_limit"} & set(v.signals)) for v in log.readings]
    assert beyond == stored
    assert sum(stored) == 3


def test_nothing_of_it_is_ever_changed(workshop: Workshop) -> None:
    arm, one = with_bar(workshop)
    (bad,) = measured(workshop, arm, one, [1.0])
    workshop.do(check_bars.explain, "owner", arm, bad.id, WHY)
    with pytest.raises(PermanentRecord):
        workshop.tamper(CheckBarReading, bad.id, signals="")
    with pytest.raises(PermanentRecord):
        workshop.tamper(CheckBarExplanation, 1, reason="other")
    with pytest.raises(PermanentRecord):
        workshop.tamper(CheckBar, one, length_mm=1.0)


def test_every_act_is_an_event_of_the_chain(workshop: Workshop) -> None:
    arm, one = with_bar(workshop)
    (bad,) = measured(workshop, arm, one, [1.0])
    workshop.do(check_bars.explain, "owner", arm, bad.id, WHY)
    with workshop.rows() as (session, owner):
        events = session.scalars(scoped(session, owner, Event).order_by(Event.position)).all()
        told = {event.what: event for event in events}
        assert audit_check.verify(session, owner).whole
    assert told["check_bar.calibrated"].subject == f"check_bar:{one}"
    assert told["instrument.check_bar_measured"].subject == f"instrument:{arm}"
    assert '"signals":"bias"' in told["instrument.check_bar_measured"].public.replace(" ", "")
    assert "sun" in told["instrument.check_bar_explained"].public


def test_what_cannot_be_recorded(workshop: Workshop) -> None:
    arm, one = with_bar(workshop)

    def record(role: str, instrument_id: int, **changes: Any) -> None:
        sent = reading(changes.pop("bar_id", one), 0.0, **changes)
        workshop.do(check_bars.record_reading, role, instrument_id, sent)

    for role in ("desk", "owner"):
        with pytest.raises(NotAllowed):
            record(role, arm)
    with pytest.raises(NotFound, match="no_such_instrument"):
        record("technician", 99)
    with pytest.raises(NotFound, match="no_such_check_bar"):
        record("technician", arm, bar_id=99)
    with pytest.raises(Conflict, match="check_bar_out_of_calibration"):
        record("technician", arm, measured_at="2026-01-14T12:00:00+01:00")
    tomorrow = datetime(2026, 3, 3, 12, tzinfo=UTC) + timedelta(days=1)
    with pytest.raises(BadInput, match="in_the_future"):
        record("technician", arm, measured_at=tomorrow.isoformat())
    workshop.do(instruments.retire, "owner", arm, "dropped")
    with pytest.raises(Conflict, match="instrument_retired"):
        record("technician", arm)


@pytest.mark.parametrize(
    "changes",
    [
        {"readings_mm": []},
        {"readings_mm": [500.0] * 51},
        {"readings_mm": ["500"]},
        {"readings_mm": [float("nan")]},
        {"readings_mm": [-500.0]},
        {"temperature_c": 400.0},
        {"temperature_u_k": 0.0},
        {"measured_at": "2026-03-02T07:30:00"},
        {"length": 500.0},
    ],
    ids=str,
)
def test_a_reading_that_makes_no_sense_is_refused(changes: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        reading(1, 0.0, **changes)


@pytest.mark.parametrize(
    "changes",
    [
        {"length_mm": 0.0},
        {"length_u_mm": 0.0},
        {"expansion_per_k": 1.0},
        {"due": "2026-01-14"},
        {"material": "steel"},
    ],
    ids=str,
)
def test_a_bar_that_makes_no_sense_is_refused(changes: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        bar(**changes)
