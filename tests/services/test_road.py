"""Status, next step and road of a job from facts alone, one row for each state."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from app.services.put_right import Difference
from app.services.road import ROLES, STATUSES, STEPS, next_step, road, since, status, waits_for
from app.services.road_facts import Answered, Done, Facts, Measured, Outdated, SentBack


def at(hour: float) -> Done:
    """Something done so many hours after check-in."""
    return Done(datetime(2026, 3, 2, 8, 0, tzinfo=UTC) + timedelta(hours=hour), "Ada")


def survey(
    hour: float,
    finding: str,
    phase: str = "before",
    rig: str = "steady",
    orientation: str = "checked",
) -> Measured:
    return Measured(int(hour), phase, at(hour), finding, rig, orientation)


RECEIVED = Facts(received=at(0))
READY = replace(RECEIVED, reference=at(1), instrument=at(2), visual_check=at(3))
WITHIN = replace(READY, surveys=(survey(4, "within"),))
OUTSIDE = replace(READY, surveys=(survey(4, "outside"),))
CORRECTED = replace(OUTSIDE, corrections=(at(5),))
AFTER = replace(CORRECTED, surveys=(survey(4, "outside"), survey(6, "within", "after")))
SIGNED = replace(AFTER, certified=at(7))
REPORTED = replace(OUTSIDE, certified=at(7), certified_as="report")
UNDECIDED = replace(READY, surveys=(survey(4, "undecided"),))
ANSWER = Answered(at(8).at, "Tove", "both stand at mark 4")
OUTDATED = Outdated("C-2026-0001", at(8).at, "Dea", (Difference("plate", "AB 1", "AB 7"),))
SENT_BACK = SentBack(at(7).at, "Ines", "the adjusters were not recorded")

CASES = {
    "just checked in": (RECEIVED, "checked_in", "reference"),
    "reference fixed": (replace(RECEIVED, reference=at(1)), "checked_in", "instrument"),
    "instrument chosen": (
        replace(RECEIVED, reference=at(1), instrument=at(2)), "checked_in", "visual_check"
    ),
    "ready to measure": (READY, "checked_in", "measure_before"),
    "points are being taken": (
        replace(READY, drafts=(("before", at(4)),)), "measuring", "measure_before"
    ),
    "found within": (WITHIN, "to_sign", "sign"),
    "put right after it was certified": (replace(SIGNED, outdated=OUTDATED), "to_sign", "sign"),
    "put right after a report": (replace(REPORTED, outdated=OUTDATED), "to_sign", "sign"),
    "put right after a report of what is undecided": (
        replace(UNDECIDED, certified=at(7), certified_as="report", outdated=OUTDATED),
        "to_sign", "sign"
    ),
    "put right, then sent back": (
        replace(SIGNED, outdated=OUTDATED, sent_back=SENT_BACK), "measured", "measure_after"
    ),
    "found within before anybody looked": (
        replace(WITHIN, visual_check=None), "measured", "visual_check"
    ),
    "outside before anybody looked": (replace(OUTSIDE, visual_check=None), "measured", "correct"),
    "measured without a reference": (
        replace(READY, reference=None, surveys=(survey(4, "undecided"),)), "measured", "reference"
    ),
    "found outside": (OUTSIDE, "measured", "correct"),
    "undecided": (
        replace(READY, surveys=(survey(4, "undecided"),)), "measured", "measure_before"
    ),
    "the set-up moved": (
        replace(READY, surveys=(survey(4, "undecided", rig="moved"),)), "measured", "measure_before"
    ),
    "left and right were never checked": (
        replace(READY, surveys=(survey(4, "within", orientation="not_checked"),)),
        "measured", "measure_before",
    ),
    "outside with a hold on the frame": (
        replace(OUTSIDE, holds_open=1, frame_holds_open=1, hold_moments=(at(3).at,)),
        "to_sign", "sign",
    ),
    "outside with a hold on another part": (
        replace(OUTSIDE, holds_open=1, hold_moments=(at(3).at,)), "measured", "correct"
    ),
    "within with a hold": (
        replace(AFTER, holds_open=1, hold_moments=(at(3).at,)), "to_sign", "sign"
    ),
    "outside and not to be straightened": (
        replace(OUTSIDE, straightening_forbidden=True), "to_sign", "sign"
    ),
    "a report of what is outside and stopped is in force, and another hold was closed": (
        replace(REPORTED, straightening_forbidden=True, hold_moments=(at(8).at,)),
        "certified", "hand_over",
    ),
    "the hold on the frame was closed after its report": (
        replace(REPORTED, hold_moments=(at(8).at,), frame_released_at=at(8).at),
        "measured", "measure_after",
    ),
    "the same where straightening is forbidden": (
        replace(
            REPORTED, straightening_forbidden=True, hold_moments=(at(8).at,),
            frame_released_at=at(8).at,
        ),
        "measured", "measure_after",
    ),
    "the new frame was measured": (
        replace(
            REPORTED, surveys=(*OUTSIDE.surveys, survey(9, "within", "after")),
            hold_moments=(at(8).at,), frame_released_at=at(8).at,
        ),
        "to_sign", "sign",
    ),
    "within, and the hold on the frame was closed after it": (
        replace(WITHIN, hold_moments=(at(8).at,), frame_released_at=at(8).at),
        "measured", "measure_after",
    ),
    "outside, the hold on the frame closed, nothing signed: it can be straightened": (
        replace(OUTSIDE, hold_moments=(at(8).at,), frame_released_at=at(8).at),
        "measured", "correct",
    ),
    "undecided with a hold is still undecided": (
        replace(READY, surveys=(survey(4, "undecided"),), holds_open=1),
        "measured", "measure_before",
    ),
    "correction noted": (CORRECTED, "correcting", "measure_after"),
    "measured during the correction": (
        replace(OUTSIDE, surveys=(*OUTSIDE.surveys, survey(5, "outside", "during"))),
        "correcting", "measure_after",
    ),
    "points during the correction": (
        replace(OUTSIDE, drafts=(("during", at(5)),)), "correcting", "correct"
    ),
    "points after the correction": (
        replace(CORRECTED, drafts=(("after", at(6)),)), "measuring", "measure_after"
    ),
    "within after correction": (AFTER, "to_sign", "sign"),
    "still outside after correction": (
        replace(CORRECTED, surveys=(survey(4, "outside"), survey(6, "outside", "after"))),
        "measured", "correct",
    ),
    "undecided after correction": (
        replace(CORRECTED, surveys=(survey(4, "outside"), survey(6, "undecided", "after"))),
        "measured", "measure_after",
    ),
    "sent back": (replace(AFTER, sent_back=SENT_BACK), "measured", "measure_after"),
    "sent back before any correction": (
        replace(WITHIN, sent_back=SENT_BACK), "measured", "measure_before"
    ),
    "sent back and corrected since": (
        replace(AFTER, sent_back=SENT_BACK, corrections=(at(5), at(8))),
        "correcting", "measure_after",
    ),
    "sent back and being measured": (
        replace(AFTER, sent_back=SENT_BACK, drafts=(("after", at(8)),)),
        "measuring", "measure_after",
    ),
    "sent back and answered": (replace(AFTER, answered=ANSWER), "to_sign", "sign"),
    "undecided, sent back and answered": (
        replace(UNDECIDED, answered=ANSWER), "to_sign", "sign"
    ),
    "outside, sent back and answered": (replace(OUTSIDE, answered=ANSWER), "to_sign", "sign"),
    "moved, sent back and answered": (
        replace(READY, surveys=(survey(4, "undecided", rig="moved"),), answered=ANSWER),
        "to_sign", "sign",
    ),
    "answered and sent back once more": (
        replace(UNDECIDED, answered=ANSWER, sent_back=SENT_BACK), "measured", "measure_before"
    ),
    "answered and being measured all the same": (
        replace(UNDECIDED, answered=ANSWER, drafts=(("before", at(9)),)),
        "measuring", "measure_before",
    ),
    "answered and measured since": (
        replace(UNDECIDED, answered=ANSWER, surveys=(survey(9, "undecided"),)),
        "measured", "measure_before",
    ),
    "answered and corrected since": (
        replace(OUTSIDE, answered=ANSWER, corrections=(at(9),)), "correcting", "measure_after"
    ),
    "answered and signed": (
        replace(UNDECIDED, answered=ANSWER, certified=at(9)), "certified", "hand_over"
    ),
    "answered, signed and withdrawn": (
        replace(UNDECIDED, answered=ANSWER, last_issued_at=at(9).at), "measured", "measure_before"
    ),
    "answered again after a certificate was withdrawn": (
        replace(UNDECIDED, answered=ANSWER, last_issued_at=at(7).at), "to_sign", "sign"
    ),
    "cancelled while the machine stands here": (
        replace(SIGNED, cancelled=at(9), still_here=True), "cancelled", "hand_over"
    ),
    "cancelled and given back": (
        replace(SIGNED, cancelled=at(9), handed_over=at(10)), "cancelled", None
    ),
    "signed": (SIGNED, "certified", "hand_over"),
    "measured again after signing": (
        replace(SIGNED, surveys=(*SIGNED.surveys, survey(8, "within", "after"))), "to_sign", "sign"
    ),
    "corrected again after signing": (
        replace(SIGNED, corrections=(at(5), at(8))), "correcting", "measure_after"
    ),
    "a hold opened after signing": (
        replace(SIGNED, holds_open=1, hold_moments=(at(8).at,)), "to_sign", "sign"
    ),
    "points taken after signing": (
        replace(SIGNED, drafts=(("after", at(8)),)), "measuring", "measure_after"
    ),
    "handed over": (replace(SIGNED, handed_over=at(9)), "handed_over", None),
    "handed over without certificate": (
        replace(OUTSIDE, handed_over=at(9)), "handed_over", None
    ),
    "cancelled": (replace(RECEIVED, cancelled=at(1)), "cancelled", None),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_status_and_next_step_follow_from_the_records(name: str) -> None:
    facts, expected, following = CASES[name]

    assert (status(facts), next_step(facts)) == (expected, following)


def test_every_status_and_every_step_is_reached_by_some_records() -> None:
    assert {status(facts) for facts, *_ in CASES.values()} == set(STATUSES)
    reached = {next_step(facts) for facts, *_ in CASES.values()}
    assert reached == (set(STEPS) - {"check_in"}) | {None}


@pytest.mark.parametrize("name", CASES)
def test_the_road_has_one_next_step_and_none_when_closed(name: str) -> None:
    facts, _, following = CASES[name]

    steps = road(facts)

    assert [step.code for step in steps] == list(STEPS)
    assert [step.code for step in steps if step.state == "next"] == (
        [following] if following else []
    )
    assert all(step.role == ROLES[step.code] for step in steps)
    assert steps[0].state == "done"


def test_the_road_says_what_was_found_beside_a_measurement() -> None:
    before = {step.code: step for step in road(AFTER)}["measure_before"]

    assert before.state == "done"
    assert dict(before.facts) == {
        "survey": 4, "finding": "outside", "rig": "steady", "orientation": "checked",
    }  # fmt: skip
    assert before.done_at == at(4).at
    assert before.done_by == "Ada"


def test_a_machine_found_within_needs_no_correction() -> None:
    states = {step.code: step.state for step in road(WITHIN)}

    assert states["correct"] == "not_needed"
    assert states["measure_after"] == "not_needed"
    assert states["sign"] == "next"


def test_a_report_on_a_bent_machine_may_be_signed_though_correction_is_next() -> None:
    states = {step.code: step.state for step in road(OUTSIDE)}

    assert (states["correct"], states["sign"], states["hand_over"]) == ("next", "open", "open")


@pytest.mark.parametrize(
    ("facts", "by"),
    [
        (replace(OUTSIDE, holds_open=1, frame_holds_open=1), "hold"),
        (replace(OUTSIDE, straightening_forbidden=True), "forbidden"),
    ],
)
def test_a_bent_machine_that_is_not_to_be_straightened_is_never_told_to_need_nothing(
    facts: Facts, by: str
) -> None:
    steps = {step.code: step for step in road(facts)}

    assert [steps[code].state for code in ("correct", "measure_after")] == ["stopped"] * 2
    assert dict(steps["correct"].facts) == {"stopped_by": by}
    assert steps["sign"].state == "next"


def test_a_cracked_wheel_does_not_stop_the_frame_from_being_corrected() -> None:
    steps = {step.code: step for step in road(replace(OUTSIDE, holds_open=1))}

    assert [steps[code].state for code in ("correct", "measure_after")] == ["next", "open"]
    assert dict(steps["sign"].facts) == {"holds_open": 1}


def test_a_moved_set_up_leaves_the_measurement_to_be_done() -> None:
    facts = replace(READY, surveys=(survey(4, "undecided", rig="moved"),))
    step = {step.code: step for step in road(facts)}["measure_before"]

    assert (step.state, step.done_at) == ("next", None)
    assert dict(step.facts)["rig"] == "moved"


def test_signing_shows_how_many_holds_are_open() -> None:
    step = {step.code: step for step in road(replace(OUTSIDE, holds_open=2))}["sign"]

    assert dict(step.facts) == {"holds_open": 2}


def test_it_waits_since_the_last_thing_done() -> None:
    assert since(RECEIVED) == at(0).at
    assert since(AFTER) == at(6).at
    assert since(replace(AFTER, hold_moments=(at(6.5).at,))) == at(6.5).at
    assert waits_for(AFTER) == "inspector"
    assert waits_for(replace(AFTER, cancelled=at(7))) is None
