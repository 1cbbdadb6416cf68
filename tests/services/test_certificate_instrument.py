"""No certificate rests on an instrument whose own record speaks against it."""

from app.schemas.check_bar import ExplanationIn
from app.services import certificates, check_bars, handedness_checks
from app.wording.errors import explain
from tests.services.certifying import Bench
from tests.services.documents import SOUND, survey_document
from tests.services.instrument_facts import bar, reading, turned_steering

WHY = ExplanationIn(reason="a speck of dirt on the bar (invented)")


def bar_measured(done: Bench, deviation: float) -> int:
    shop, instrument_id = done.workshop, done.ready.instrument_id
    known = shop.see(check_bars.bars, "desk")
    bar_id = known[0].id if known else shop.do(check_bars.add_bar, "owner", bar()).id
    sent = reading(bar_id, deviation)
    return shop.do(check_bars.record_reading, "technician", instrument_id, sent).id


def turned(done: Bench, measured_at: str, *, mirrored: bool) -> None:
    sent = turned_steering(mirrored=mirrored, measured_at=measured_at)
    done.workshop.do(handedness_checks.record, "technician", done.ready.instrument_id, sent)


def test_a_reading_in_control_stands_against_nothing(done: Bench) -> None:
    bar_measured(done, 0.01)
    assert done.codes() == []


def test_a_reading_out_of_control_refuses_every_kind_until_it_is_explained(done: Bench) -> None:
    bad = bar_measured(done, 1.0)
    bar_measured(done, 0.0)
    assert done.codes("completion") == ["check_bar_out_of_control"]
    assert done.codes("report") == ["check_bar_out_of_control"]
    shop = done.workshop
    shop.do(check_bars.explain, "inspector", done.ready.instrument_id, bad, WHY)
    assert done.codes() == []


def test_the_refusal_says_which_reading_and_why(done: Bench) -> None:
    bar_measured(done, 1.0)
    shop = done.workshop
    with shop.database.read() as session:
        (problem,) = certificates.reasons_against(
            session, shop.people["inspector"], done.number, "report", shop.now
        )
    assert explain(problem).sentence == (
        "the instrument arm 2 is out of control: check bar of 2 March 2026: more than three "
        "standard uncertainties from the bar's length; every such reading must be explained "
        "before anything is certified with it: find the cause, write it down beside the reading, "
        "and measure the bar again"
    )


def test_left_handed_axes_refuse_until_they_are_put_right_and_it_is_measured_again(
    job: Bench,
) -> None:
    turned(job, "2026-03-02T08:30:00+01:00", mirrored=True)
    document = survey_document(SOUND, measured_at="2026-03-02T09:00:00+01:00")
    document["points"] = [{k: v for k, v in p.items() if k != "turn"} for p in document["points"]]
    job.measure("before", document)
    assert "instrument_left_handed" in job.codes("report")
    turned(job, "2026-03-02T09:30:00+01:00", mirrored=False)
    assert "instrument_left_handed" in job.codes("report")
    job.measure("before", {**document, "measured_at": "2026-03-02T09:40:00+01:00"})
    assert "instrument_left_handed" not in job.codes("report")


def test_what_is_left_handed_now_stands_against_what_was_measured_before(job: Bench) -> None:
    document = survey_document(SOUND, measured_at="2026-03-02T09:00:00+01:00")
    document["points"] = [{k: v for k, v in p.items() if k != "turn"} for p in document["points"]]
    job.measure("before", document)
    assert "instrument_left_handed" not in job.codes("report")
    turned(job, "2026-03-02T09:10:00+01:00", mirrored=True)
    assert "instrument_left_handed" in job.codes("report")
    turned(job, "2026-03-02T09:20:00+01:00", mirrored=False)
    assert "instrument_left_handed" not in job.codes("report")


def test_a_measurement_with_turns_to_both_sides_shows_its_own_axes(job: Bench) -> None:
    document = survey_document(SOUND, measured_at="2026-03-02T09:00:00+01:00")
    steering = [p for p in document["points"] if p["feature"] == "steer_target"]
    assert {p.get("turn") for p in steering} >= {"left", "right"}
    job.measure("before", document)
    turned(job, "2026-03-02T08:30:00+01:00", mirrored=True)
    assert "instrument_left_handed" not in job.codes("report")
