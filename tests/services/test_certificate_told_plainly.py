"""What an outsider with nothing but the certificate must not misread. All names are invented."""

import dataclasses
import json
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any, cast

import pytest

from app.schemas.correction import CorrectionIn
from app.schemas.reference import ReferenceIn
from app.schemas.result import ResultOut
from app.schemas.visual_check import ITEMS, VisualCheckIn
from app.services import corrections, visual_checks
from app.services.certificate_case import gather
from app.services.certificate_content import decision_rule
from app.services.certificate_corrections import who
from app.services.certificate_received import not_followed
from app.services.certificate_results import reading
from app.services.certificate_sources import (
    limits_in_brief,
    not_the_makers,
    of_another,
    repair_sentence,
    sources_of_reference,
)
from app.services.certificate_visual_check import in_brief, looked
from app.services.job_views import CorrectionView
from app.services.machines import MachineView
from app.services.references import RevisionView
from app.services.visual_checks import VisualCheckView
from app.wording import damage
from tests.services.certifying import Bench
from tests.services.composed import composed
from tests.services.documents import BENT, reference_document, survey_document
from tests.services.whole_result import result

LATER = datetime(2026, 3, 4, 15, 20, tzinfo=UTC)
EARLIER = datetime(2026, 3, 3, 9, 10, tzinfo=UTC)


def checks(
    *answered: tuple[str, str, datetime], of: Sequence[str] = ITEMS
) -> list[VisualCheckView]:
    """The first items answered so, the others by nobody."""
    made = [
        VisualCheckView(item, answer, None, None, at, name)
        for item, (answer, name, at) in zip(of, answered, strict=False)
    ]
    left = of[len(made) :]
    return [*made, *(VisualCheckView(one, "not_checked", None, None, None, None) for one in left)]


def test_all_looked_at_and_nothing_seen_is_not_told_as_nothing_looked_at() -> None:
    told = in_brief(checks(*[("not_seen", "Tove", EARLIER)] * len(ITEMS)))
    assert told == (
        f"Visual check on 3 March 2026 by Tove: {len(ITEMS)} kinds of damage looked for, none seen."
    )


def test_several_days_and_persons_are_named() -> None:
    found = checks(("seen", "Tove", EARLIER), ("not_seen", "Ansel", LATER))
    assert in_brief(found) == (
        "Visual check from 3 March 2026 to 4 March 2026 by Tove, Ansel: 1 of 2 seen: cracks in "
        f"the frame. {len(ITEMS) - 2} not checked."
    )
    assert looked(found) == (
        "Looked at by Tove, 1 item, last answer on 3 March 2026, 09:10 UTC; "
        "Ansel, 1 item, last answer on 4 March 2026, 15:20 UTC."
    )


def test_an_item_left_out_on_purpose_was_not_looked_at() -> None:
    found = checks(("not_checked", "Tove", EARLIER))
    assert in_brief(found) == f"Visual check: none of the {len(ITEMS)} items was looked at."
    assert looked(found) == "Nobody has looked at any of these items."


def test_the_latest_answer_counts(done: Bench) -> None:
    new = {"since_seen": "replaced", "since_words": "new front wheel"}
    for answer in ({"answer": "seen", "place": "front"}, {"answer": "not_seen", **new}):
        sent = VisualCheckIn.model_validate({"item": "wheel_rims", **answer})
        done.workshop.do(visual_checks.answer, "technician", done.number, [sent])
    told = composed(done).content.visual_check
    now = f"{len(ITEMS)} kinds of damage looked for, none seen now."
    assert now in told.in_brief
    again = f"{len(ITEMS) - 1} of these were looked at before the correction and not again."
    assert again in told.in_brief
    assert told.in_brief.endswith("Seen before: dented or bent rims (replaced).")
    line = next(one for one in told.not_seen if one.startswith("dented or bent rims"))
    assert "(front); replaced: new front wheel" in line


def noted(done: Bench, **sent: Any) -> None:
    words = CorrectionIn.model_validate(sent)
    done.workshop.do(corrections.note, "technician", done.number, words)


def unsaid_damage(done: Bench, *damaged: str) -> str:
    """What is said to be not on record, of damage in these words."""
    shop = done.workshop
    with shop.database.read() as session:
        case = gather(session, shop.people["inspector"], done.number)
    assert case.survey is not None
    job = dataclasses.replace(case.job, damage=(), visible_damage=damaged)
    return not_followed(dataclasses.replace(case, job=job), case.survey)


def test_damage_that_nothing_speaks_of_since_is_named(done: Bench) -> None:
    told = unsaid_damage(done, "front rim bent", "tank dented", "frame scraped", "horn lost")
    assert "not on record here: front wheel; fuel tank." in told
    assert unsaid_damage(done, "frame scraped") == ""


@pytest.mark.parametrize("words", ["horn lost", "Gabel links verbogen", "フロントフォーク曲がり"])
def test_damage_in_words_of_any_language_that_nobody_compared_is_told_as_it_is(
    done: Bench, words: str
) -> None:
    told = unsaid_damage(done, "frame scraped", words)
    assert told == (
        f"Told in words at check-in, and held against no measurement and no correction: “{words}”."
    )


def test_of_many_words_a_few_are_quoted_and_the_others_counted(done: Bench) -> None:
    told = unsaid_damage(done, "horn lost", "clock lost", "bag lost", "strap lost", "lamp lost")
    assert told.endswith("“horn lost”; “clock lost”; “bag lost”, and 2 more.")


def test_a_correction_in_words_alone_may_speak_of_it(done: Bench) -> None:
    """What it names in another language than the program's cannot be told."""
    noted(done, text="Tank ersetzt, neue Leitung", part="other", method="replaced")
    assert unsaid_damage(done, "tank dented") == ""
    noted(done, text="Verkleidung ersetzt", part="other", method="replaced")
    told = unsaid_damage(done, "fairing broken")
    assert told.endswith(
        "not on record here: headlamp and fairing. A correction that is noted in words alone may "
        "speak of it."
    )


def test_damage_that_a_correction_names_is_not(done: Bench) -> None:
    noted(done, text="replaced by a new one", part="front_wheel", method="replaced")
    noted(done, text="the tank was replaced", part="other", method="replaced")
    told = unsaid_damage(done, "front rim bent", "tank dented", "rear wheel buckled")
    assert "not on record here: rear wheel." in told


def test_every_zone_has_words_that_name_it() -> None:
    assert set(damage.NAMED_BY) == set(damage.ZONES)
    assert damage.is_named("tail", "Rear light broken")
    assert not damage.is_named("tank", "stank of petrol")


@pytest.mark.parametrize(
    ("done_by", "by", "told"),
    [
        (None, "Tove", "who did it is not recorded; noted by Tove"),
        ("Milltown Forks", "Tove", "Milltown Forks; noted by Tove"),
        ("Milltown Forks", None, "Milltown Forks"),
        (None, None, "who did it is not recorded"),
    ],
)
def test_who_noted_a_correction_is_not_told_as_who_did_it(
    done_by: str | None, by: str | None, told: str
) -> None:
    assert who(CorrectionView(1, EARLIER, "pulled", by, done_by=done_by)) == told


def revision(**changes: Any) -> RevisionView:
    document = reference_document(**changes)
    read = ReferenceIn.model_validate(document)
    return RevisionView(
        1, 1, 1, None, None, None, None, document, read, True, True, EARLIER, None
    )  # fmt: skip


def limits(**sources: str | None) -> dict[str, Any]:
    return {
        key: {"nominal": 0.0, "lower": -1.0, "upper": 1.0, "source": source}
        for key, source in sources.items()
    }


def head() -> ResultOut:
    found = result()
    kept = [one for one in found["characteristics"] if one["key"].startswith("head_")]
    return {**found, "characteristics": kept}


def test_only_what_is_the_makers_passes_as_such() -> None:
    lines = limits(head_twist=None, head_offset="common practice, no source", head_reach="page 12")
    maker = revision(provenance={"kind": "maker"}, characteristics=lines, levelling=None)
    assert not_the_makers(maker, head()) == {"head_offset"}
    drawn = revision(provenance={"kind": "drawing"}, characteristics=lines, levelling=None)
    assert not_the_makers(drawn, head()) == {"head_twist", "head_offset", "head_reach"}
    assert not_the_makers(None, head()) == set()


def test_how_many_limits_are_the_makers_stands_beside_the_finding() -> None:
    lines = limits(head_twist=None, head_offset="common practice, no source", head_reach="page 12")
    maker = revision(provenance={"kind": "maker"}, characteristics=lines, levelling=None)
    assert limits_in_brief(maker, head()) == (
        "1 of 3 limits are not from the maker, 1 of them (††) without a source."
    )
    drawn = revision(provenance={"kind": "drawing"}, characteristics=lines, levelling=None)
    assert limits_in_brief(drawn, head()) == (
        "Reference values and limits are not from the maker, 1 limit (††) without a source."
    )
    unstated = revision(provenance=None, characteristics=lines, levelling=None)
    assert limits_in_brief(unstated, head()).endswith(
        "from the maker, 2 limits (††) without a source."
    )
    named = limits(head_twist="page 3", head_reach="page 12")
    named_alone = revision(provenance={"kind": "drawing"}, characteristics=named, levelling=None)
    assert limits_in_brief(named_alone, head()) == (
        "Reference values and limits are not from the maker."
    )
    values = revision(
        provenance={"kind": "drawing"},
        characteristics={"head_twist": {"nominal": 0.0}},
        levelling=None,
    )
    assert limits_in_brief(values, head()) == "The reference values are not from the maker."
    own = limits(head_twist=None, head_reach="page 12")
    all_own = revision(provenance={"kind": "maker"}, characteristics=own, levelling=None)
    assert limits_in_brief(all_own, head()) == ""


@pytest.mark.parametrize(
    ("repair", "words"),
    [
        ({"straightening": "permitted", "limit_mm": 2.0}, "as the reference says, up to 2 mm."),
        (
            {"straightening": "forbidden", "limit_mm": 2.0},
            "the reference's repair limit of 2 mm does not permit it.",
        ),
        ({"straightening": "unknown", "limit_mm": None}, "the maker's word is not on record."),
    ],
)
def test_a_repair_limit_is_called_that_of_the_reference(repair: Any, words: str) -> None:
    assert repair_sentence(revision(repair=repair).reference).endswith(words)


@pytest.mark.parametrize(
    ("names", "year", "told"),
    [
        (("Saltwerk", "Brisa 400", "2015-2018"), 2017, ""),
        (
            ("Saltwerk", "Brisa 400", "2015-2018"),
            2019,
            "not of the machine's year.",
        ),
        (("saltwerk", "Brisa 700", "2015-2018"), 2019, "of another model than the machine."),
        (("Quayside", "Brisa 400", "2015-2018"), 2017, "of another make than the machine."),
        ((None, "Brisa 400", None), 2017, ""),
    ],
)
def test_a_reference_of_another_machine_is_told_as_such(
    names: tuple[str | None, str | None, str | None], year: int, told: str
) -> None:
    machine = MachineView(
        1, 1, "Saltwerk", "Brisa 400", year, None, None, None, "YYY", "YYY", (), EARLIER
    )
    make, model, years = names
    found = of_another(
        machine, dataclasses.replace(revision(), make=make, model=model, years=years)
    )
    assert found.endswith(told)
    assert bool(found) == bool(told)


def test_one_source_of_all_is_told_once() -> None:
    lines = limits(head_twist="works sheet", head_offset="works sheet")
    told = sources_of_reference(revision(characteristics=lines, levelling=None), head())
    assert told[0] == "Source of all reference values and limits: works sheet."


def test_what_the_reference_does_not_have_of_the_makers_word_is_told() -> None:
    unknown = revision(materials={}, repair={"straightening": "unknown", "limit_mm": None})
    assert repair_sentence(unknown.reference) == (
        "Material on record: not stated. Straightening: the maker's word is not on record."
    )
    forbidden = revision(repair={"straightening": "forbidden", "limit_mm": None})
    assert "forbidden by the maker" in repair_sentence(forbidden.reference)


def test_what_levelling_set_has_no_uncertainty() -> None:
    one = result()["characteristics"][0]
    measured = reading({**one, "set_by_levelling": False})
    assert measured.uncertainty.startswith("±")
    assert measured.coverage_factor
    levelled = reading({**one, "set_by_levelling": True, "expanded_uncertainty": 0.0})
    assert (levelled.uncertainty, levelled.coverage_factor) == ("", "")
    assert levelled.value == levelled.figure == "set by levelling, not measured"
    assert "levelling" not in measured.value


def test_what_is_required_without_a_limit_is_said_not_to_be_judged(done: Bench) -> None:
    shop = done.workshop
    with shop.database.read() as session:
        survey = gather(session, shop.people["inspector"], done.number).survey
    assert survey is not None
    assert "without a limit" not in " ".join(decision_rule(survey))
    found = survey.result
    lines = [
        {**one, "required": True} if one["key"] == "pivot_width" else one
        for one in found["characteristics"]
    ]
    changed = cast(ResultOut, {**found, "characteristics": lines})
    told = decision_rule(dataclasses.replace(survey, result=changed))
    assert told[-1] == "Required, but without a limit, and so not judged: pivot width."
    assert "Left out: a slip of the set-up under" in told[-2]


def test_every_measurement_of_the_job_is_mentioned(job: Bench) -> None:
    job.measure("before")
    job.measure("before", supersedes=1, because="the lift was bumped")
    job.measure("during")
    job.measure("after")
    *_others, named, in_one_line = composed(job, "report").content.method
    assert named == (
        "Measurements of this job: no. 1 before (replaced by 2), no. 2 before (set beside it), "
        "no. 3 during, no. 4 after (this report)."
    )
    assert in_one_line.startswith("Measurement no. 3 during, 2 March 2026, 08:00 UTC")


def test_a_measurement_beside_those_shown_has_its_findings_in_one_line_and_is_attached(
    job: Bench,
) -> None:
    job.measure("before")
    document = survey_document(BENT, seed=5, measured_at="2026-03-02T11:00:00+00:00", by="Ib")
    during = job.measure("during", document)
    job.measure("after")
    reserved = composed(job)
    told = reserved.content.method[-1]
    outside = [one for one in during.result["characteristics"] if one["verdict"] == "outside"]
    assert {"head_twist", "head_reach"} <= {one["key"] for one in outside}
    assert all(f"{one['name']}, {one['sense']}" in told for one in outside)
    assert told.startswith(
        "Measurement no. 2 during, 2 March 2026, 11:00 UTC, by Ib: outside the tolerances: head"
    )
    assert told.endswith("Its results are not printed here; they stand in the attached data.")
    (attached,) = json.loads(reserved.data)["measurements_further"]
    assert (attached["number"], attached["phase"]) == (2, "during")
    assert attached["result"]["characteristics"] == during.result["characteristics"]
    assert len(attached["survey"]["points"]) == len(document["points"])
