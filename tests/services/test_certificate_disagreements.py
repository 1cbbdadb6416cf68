"""Records of one job that contradict each other, or do not belong together any more."""

import dataclasses
from datetime import UTC, date, datetime
from typing import Any

import pytest

from app.schemas.visual_check import ITEMS
from app.services.certificate_case import Case, gather
from app.services.certificate_corrections import follows
from app.services.certificate_disagreements import (
    damaged_but_not_seen,
    disagreement,
    looked_at_before_correction,
    not_repeated,
)
from app.services.certificate_received import in_brief, of_damage
from app.services.certificate_visual_check import visual_check
from app.services.damage import DamageView
from app.services.job_views import CorrectionView, JobView
from tests.services.certifying import Bench
from tests.services.composed import composed

SUNDAY = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
MONDAY = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
NEXT_YEAR = datetime(2027, 3, 2, 12, 0, tzinfo=UTC)


def case_of(done: Bench) -> Case:
    shop = done.workshop
    with shop.database.read() as session:
        return gather(session, shop.people["inspector"], done.number)


def damaged(done: Bench, zone: str, look: str | None, **changes: Any) -> JobView:
    """The job with that damage alone at check-in."""
    one = DamageView(zone, None, look, None)
    shown = {"damage": (one,), "visible_damage": (one.line,), **changes}
    return dataclasses.replace(case_of(done).job, **shown)


def test_a_contradiction_stands_beside_both_and_on_the_first_page(done: Bench) -> None:
    content = composed(done).content
    told = disagreement(case_of(done).job)
    assert "nothing of it was seen in the visual check: fork. " in told
    assert content.received_words.endswith(told)
    assert content.visual_check.looked.endswith(told)
    assert "Noted damaged at check-in all the same: fork." in content.visual_check.in_brief


@pytest.mark.parametrize(
    ("zone", "look", "names"),
    [
        ("front_wheel", "bent", ("front wheel",)),
        ("fork", "cracked", ("fork",)),
        ("frame", "cracked", ("frame",)),
        ("frame", "bent", ()),
        ("fork", "scratched", ()),
        ("fork", None, ()),
        ("tank", "dented", ()),
    ],
)
def test_only_damage_that_an_item_speaks_of_is_compared(
    done: Bench, zone: str, look: str | None, names: tuple[str, ...]
) -> None:
    assert damaged_but_not_seen(damaged(done, zone, look)) == names


@pytest.mark.parametrize("answer", ["seen", "not_checked"])
def test_what_was_seen_or_not_looked_at_contradicts_nothing(done: Bench, answer: str) -> None:
    job = damaged(done, "front_wheel", "dented")
    checks = tuple(
        dataclasses.replace(one, answer=answer) if one.item == "wheel_rims" else one
        for one in job.visual_checks
    )
    assert damaged_but_not_seen(dataclasses.replace(job, visual_checks=checks)) == ()


@pytest.mark.parametrize(
    ("noted", "text", "names"),
    [
        (SUNDAY, "new fork", ()),
        (NEXT_YEAR, "new fork", ("fork",)),
        (SUNDAY, "new horn", ("fork",)),
    ],
)
def test_a_part_that_was_corrected_before_the_check_is_not_contradicted(
    done: Bench, noted: datetime, text: str, names: tuple[str, ...]
) -> None:
    one = CorrectionView(1, noted, text, "Tove")
    job = damaged(done, "fork", "bent", corrections=(one,))
    assert damaged_but_not_seen(job) == names


def test_items_looked_at_again_after_the_correction_are_not_counted(done: Bench) -> None:
    job = case_of(done).job
    assert looked_at_before_correction(job) == ITEMS
    first, *others = job.visual_checks
    again = dataclasses.replace(first, checked_at=NEXT_YEAR)
    job = dataclasses.replace(job, visual_checks=(again, *others))
    assert looked_at_before_correction(job) == ITEMS[1:]
    told = f"{len(ITEMS) - 1} of these were looked at before the correction and not again."
    assert not_repeated(job) == told
    assert told in visual_check(job).looked
    assert looked_at_before_correction(dataclasses.replace(job, corrections=())) == ()
    assert not_repeated(dataclasses.replace(job, corrections=())) == ""


@pytest.mark.parametrize(
    ("noted", "day", "after"),
    [
        (MONDAY, None, True),
        (SUNDAY, None, False),
        (MONDAY, date(2026, 2, 28), False),
        (MONDAY, date(2026, 3, 2), True),
        (MONDAY, date(2026, 3, 1), True),
    ],
)
def test_work_follows_a_moment_by_its_day_where_that_is_told(
    noted: datetime, day: date | None, after: bool
) -> None:
    assert follows(CorrectionView(1, noted, "pulled", "Tove", done_on=day), SUNDAY) is after


def test_new_parts_that_nobody_measured_are_named(done: Bench) -> None:
    case = case_of(done)
    survey = case.survey
    assert survey is not None
    new = CorrectionView(1, MONDAY, "both tubes", "Tove", part="fork", method="replaced")
    job = dataclasses.replace(damaged(done, "tank", "dented"), corrections=(new,))
    case = dataclasses.replace(case, job=job)
    assert in_brief(case, survey) == (
        "Damaged when it came, no correction on record: fuel tank.",
        "Replaced, and not measured: fork.",
    )
    assert of_damage(case, survey)[1] == "Replaced, and not measured: fork."
    pulled = dataclasses.replace(new, method="pulled", part="head")
    case = dataclasses.replace(case, job=dataclasses.replace(job, corrections=(pulled,)))
    assert in_brief(case, survey)[1] == ""
