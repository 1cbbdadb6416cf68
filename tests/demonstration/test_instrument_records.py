"""The invented arm's own record: its check bar, one reading in the sun, a study, the turn."""

from app.demonstration.cast import ARM
from app.services import check_bars, gauge_studies, handedness_checks, instruments
from tests.demonstration.conftest import Filled


def test_the_arm_has_a_log_a_study_and_right_handed_axes(demonstration: Filled) -> None:
    with demonstration.database.read() as session:
        actor = demonstration.actor
        (arm,) = (o for o in instruments.listing(session, actor) if o.name == ARM["name"])
        log = check_bars.log(session, actor, arm.id)
        (study,) = gauge_studies.listing(session, actor, arm.id)
        (turn,) = handedness_checks.listing(session, actor, arm.id)
        bars = check_bars.bars(session, actor)

    assert (log.standing, len(log.readings)) == ("in_control", 14)
    noticed = [one for one in log.readings if not one.in_control]
    assert len(noticed) == 1
    assert noticed[0].explanation is not None
    assert "(invented)" in noticed[0].explanation.reason
    assert any(one.limits is not None for one in log.readings)
    assert [bar.note for bar in bars] == ["invented for the demonstration"]
    assert study.document["note"] == "invented for the demonstration"
    assert (len(study.result["parts"]), study.result["trials"]) == (10, 3)
    assert turn.verdict == "right_handed"
