"""The finding of a machine that was measured all over, as a page."""

import json
import re

import pytest

from app.schemas.result import ResultOut
from app.services import check_in, jobs, references, surveys
from app.web.pages.budget_words import advice, budgets
from app.web.pages.claim import bars_of
from app.web.pages.handling_words import handling_of
from app.web.pages.result_words import figures, groups
from app.wording.sections import TITLES, section_of
from tests.databases import NOW
from tests.documents.whole import whole
from tests.services.forms import check_in_form
from tests.services.whole_result import LINES, result
from tests.web.shop import Shop, seed_text, text_of


@pytest.fixture
def measured(shop: Shop) -> tuple[Shop, str]:
    """A job of the machine of the full survey, measured before and, the same, after."""
    with shop.database.write() as session:
        owner = shop.people["owner"]
        reference = references.create(session, owner, seed_text("full-reference.json"), NOW)
        number = check_in.check_in(session, owner, check_in_form(), NOW).job_number
        jobs.fix_reference(session, shop.people["technician"], number, reference.id, now=NOW)
        sent = json.loads(seed_text("full-survey.json"))
        for phase in ("before", "after"):
            surveys.submit(
                session, shop.people["technician"], number, {**sent, "phase": phase}, now=NOW
            )
    return shop, number


def stored(shop: Shop, number: str) -> ResultOut:
    with shop.database.read() as session:
        return surveys.read(session, shop.people["desk"], number, 1).result


def test_a_full_survey_shows_every_characteristic_in_its_section(
    measured: tuple[Shop, str],
) -> None:
    shop, number = measured
    page = shop.signed_in("desk").get(f"/jobs/{number}/surveys/1").text
    found = stored(shop, number)
    assert len(found["characteristics"]) > 40
    text = text_of(page)
    for one in found["characteristics"]:
        assert one["name"] in text
        assert one["sense"] in text
        assert one["budget"] or one["set_by_levelling"]
    places = [page.index(f'id="{code}"') for code in TITLES]
    assert places == sorted(places)
    assert not re.search(r"[-−]\d", text_of(page[page.index("<table") : page.rindex("</table>")]))


def test_parts_that_need_no_look_are_folded_and_no_page_is_large(
    measured: tuple[Shop, str],
) -> None:
    shop, number = measured
    visitor = shop.signed_in("desk")
    page = visitor.get(f"/jobs/{number}/surveys/1").text
    needs_a_look = {
        section_of(one["key"])
        for one in stored(shop, number)["characteristics"]
        if one["verdict"] in ("outside", "undecided")
    }
    assert needs_a_look
    for code in TITLES:
        opened = f'<details class="part" id="{code}" open>' in page
        assert opened == (code in needs_a_look)
    here = f"/jobs/{number}"
    for path in ("surveys/1", "surveys/1/numbers", "before-and-after", "before-and-after?way=side"):
        assert len(visitor.get(f"{here}/{path}").content) < 100_000


def test_handling_stands_apart_with_its_caveat(measured: tuple[Shop, str]) -> None:
    shop, number = measured
    text = text_of(shop.signed_in("desk").get(f"/jobs/{number}/surveys/1").text)
    handling = stored(shop, number)["handling"]
    assert set(handling) >= {"trail_mm", "normal_trail_mm", "front_contact_mm"}
    assert "Handling, for information only" in text
    for one in handling.values():
        assert one["sense"] in text
    assert "no finding rests on these figures" in text


def test_what_would_reduce_the_uncertainty_stands_one_level_deeper(
    measured: tuple[Shop, str],
) -> None:
    shop, number = measured
    visitor = shop.signed_in("desk")
    page = visitor.get(f"/jobs/{number}/surveys/1").text
    assert f'href="/jobs/{number}/surveys/1/numbers"' in page
    assert "longer bar" not in text_of(page)
    deeper = visitor.get(f"/jobs/{number}/surveys/1/numbers").text
    assert "What would reduce it most" in text_of(deeper)
    assert "use a longer bar through it" in text_of(deeper)
    assert "Probability within" in text_of(deeper)
    assert deeper.count("<details") == len(TITLES)


def test_drawings_name_what_they_show(measured: tuple[Shop, str]) -> None:
    shop, number = measured
    page = shop.signed_in("desk").get(f"/jobs/{number}/surveys/1").text
    assert "Crosses: control points." in page
    assert "head face: " in page


def test_before_and_after_tells_the_change_with_its_uncertainty(
    measured: tuple[Shop, str],
) -> None:
    shop, number = measured
    # The very same points twice: nothing changed, however well that is known.
    said = "change: no change that could be told from the uncertainty"
    visitor = shop.signed_in("desk")
    whole = visitor.get(f"/jobs/{number}/before-and-after").text
    assert text_of(whole).count(said) > 15
    assert "leaves out what both measurements share" in text_of(whole)
    counted = 0
    for code in TITLES:
        part = visitor.get(f"/jobs/{number}/before-and-after?part={code}").text
        rows = part[part.index(f'<details class="part" id="{code}"') :].partition("</details>")[0]
        counted += text_of(rows).count(said)
    assert counted > 40


def test_an_explanation_that_is_the_same_for_several_is_given_once() -> None:
    (frame,) = [group for group in groups(result()) if group.code == "frame"]
    explained = [row.description for row in frame.rows if row.description]
    assert len(explained) == len(set(explained)) == 7
    assert len(frame.rows) == 22


def test_sections_count_their_verdicts_the_worst_first() -> None:
    counted = {group.code: [one.word for one in group.counts] for group in groups(result())}
    assert counted["frame"] == ["20 within", "2 no limit"]
    before = {g.code: [one.word for one in g.counts] for g in groups(result(after=False))}
    assert before["fork"] == ["3 outside", "1 undecided", "2 within"]


def test_budgets_begin_with_the_largest_source_and_what_would_reduce_it() -> None:
    found = {b.name: b for group in budgets(result()) for b in group.budgets}
    assert len(found) == len(LINES)
    pivot = found["head offset"]
    assert [share.percent for share in pivot.shares] == ["62 %", "27 %", "11 %"]
    assert pivot.reduce == "measure the pivot again, or use a longer bar through it"
    assert "control point" in [one.source for one in advice(result())]


def test_a_result_of_earlier_days_has_no_handling_and_still_shows() -> None:
    earlier = result()
    del earlier["handling"]  # type: ignore[misc]
    assert handling_of(earlier) is None
    handling = handling_of(result())
    assert handling is not None
    assert [row.name for row in handling.rows][:2] == ["normal trail", "trail"]


def test_a_reference_below_zero_is_told_with_its_direction() -> None:
    changed = result()
    place = next(
        i for i, one in enumerate(changed["characteristics"]) if one["key"] == "head_offset"
    )
    changed["characteristics"][place]["nominal"] = -5.0
    (shown,) = [one for one in figures(changed) if one.name == "head offset"]
    assert shown.nominal == "5.00 mm to the right of the middle"


def test_the_claim_view_sets_what_is_required_under_its_sections() -> None:
    shown = bars_of(whole().required)
    assert [line.section for line in shown if line.section] == [
        "Steering head", "Pivot and datum", "Swing arm", "Fork", "Wheels",
    ]  # fmt: skip
    assert shown[0].section
    assert not shown[1].section


def test_the_claim_view_of_a_head_alone_needs_no_sections() -> None:
    assert not any(line.section for line in bars_of(whole().required[:3]))
