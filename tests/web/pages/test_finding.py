"""What a finding and a comparison show."""

import json
import re

from app.schemas.correction import CorrectionIn
from app.schemas.visual_check import VisualCheckIn
from app.services import corrections, jobs, surveys, visual_checks
from tests.services.forms import check_in_form
from tests.web.shop import Shop, measured_job, seed_text, text_of

BOTH = ("before-head-bent.json", "after-corrected.json")


def test_the_sentence_of_the_finding_comes_first_and_what_it_leaves_out_beside_it(
    shop: Shop,
) -> None:
    number = measured_job(shop)
    page = shop.signed_in("desk").get(f"/jobs/{number}/surveys/1").text
    with shop.database.read() as session:
        result = surveys.read(session, shop.people["desk"], number, 1).result
    text = text_of(page)
    sentence = result["finding"]["sentence"].partition(" This says nothing of")[0]
    assert sentence in text
    assert text.index(sentence) < text.index(result["characteristics"][0]["name"])
    assert "This says nothing of cracks" in text
    for one in result["characteristics"]:
        assert one["sense"] in text
    assert result["rig_check"]["sentence"] in text
    assert "good geometry is not proof of a sound frame" in text


def test_what_is_outside_is_told_with_its_sense_before_the_table(shop: Shop) -> None:
    number = measured_job(shop)
    page = shop.signed_in("desk").get(f"/jobs/{number}/surveys/1").text
    above = text_of(page[: page.index("<table")])
    assert "Head twist: 1.09° anticlockwise seen from behind, square to the head." in above
    table = text_of(page[page.index("<table") : page.index("</table>")])
    assert "outside, beyond what is allowed" in table
    assert "the lower limit" not in table
    assert "the lower limit" not in text_of(page)
    assert "Jigbook's arithmetic, version" in text_of(page)
    deeper = shop.signed_in("desk").get(f"/jobs/{number}/surveys/1/numbers").text
    assert "outside, below the lower limit" in text_of(deeper)


def test_no_number_stands_there_with_a_bare_minus(shop: Shop) -> None:
    number = measured_job(shop, BOTH)
    visitor = shop.signed_in("desk")
    for path in ("surveys/1", "surveys/2", "before-and-after"):
        page = visitor.get(f"/jobs/{number}/{path}").text
        table = page[page.index("<table") : page.rindex("</table>")]
        assert "-0" not in text_of(table)
        assert "\N{MINUS SIGN}" not in text_of(table)


def test_a_set_up_that_moved_is_said_and_leads_to_measuring_again(shop: Shop) -> None:
    number = measured_job(shop, ("before-set-up-moved.json",))
    technician = shop.signed_in("technician")
    page = technician.get(f"/jobs/{number}/surveys/1").text
    assert "The set-up moved" in page
    assert 'class="verdict undecided"' in page
    assert 'class="verdict within"' not in page
    assert f'href="/jobs/{number}/measure?phase=before"' in page


def test_before_and_after_stand_side_by_side(shop: Shop) -> None:
    number = measured_job(shop, BOTH)
    page = shop.signed_in("desk").get(f"/jobs/{number}/before-and-after").text
    assert 'class="before"' in page
    assert "1.09° anticlockwise seen from behind" in text_of(page)
    assert page.count('class="verdict within"') >= 6
    assert f'href="/jobs/{number}/surveys/1"' in page
    assert f'href="/jobs/{number}/surveys/2"' in page


def test_a_change_that_no_correction_explains_is_told_beside_it(shop: Shop) -> None:
    number = measured_job(shop, BOTH)
    page = text_of(shop.signed_in("desk").get(f"/jobs/{number}/before-and-after").text)
    odd = "No correction of this part is noted, and yet it changed"
    assert page.count(odd) > 1
    assert "Changes are worked out before rounding" in page
    sent = CorrectionIn.model_validate({"text": "pulled", "part": "head"})
    with shop.database.write() as session:
        now, person = shop.clock["now"], shop.people["technician"]
        corrections.note(session, person, number, sent, now)
    page = text_of(shop.signed_in("desk").get(f"/jobs/{number}/before-and-after").text)
    assert page.count(odd) == 1
    assert page.index("pivot width") < page.index(odd)


def test_with_one_measurement_there_is_nothing_to_compare(shop: Shop) -> None:
    number = measured_job(shop)
    assert shop.signed_in("desk").get(f"/jobs/{number}/before-and-after").status_code == 404


def test_a_measurement_that_takes_anothers_place_is_linked_both_ways(shop: Shop) -> None:
    number = measured_job(shop)
    technician = shop.signed_in("technician")
    form = {"phase": "before", "supersedes": "1", "because": "the rig slipped"}
    with_file = {
        "document": ("x.json", seed_text("before-head-bent.json").encode(), "application/json")
    }
    answer = technician.post(f"/jobs/{number}/surveys", form, with_file)
    assert answer.headers["location"] == f"/jobs/{number}/surveys/2"
    assert "the rig slipped" in technician.get(answer.headers["location"]).text
    first = technician.get(f"/jobs/{number}/surveys/1").text
    assert "This measurement was replaced by" in first
    assert f'href="/jobs/{number}/surveys/2"' in first


def test_points_of_another_job_are_warned_of(shop: Shop) -> None:
    first = measured_job(shop)
    machine = {**check_in_form()["machine"], "frame_number": "ZZZTEST00A1000018"}
    second = measured_job(shop, machine=machine)
    visitor = shop.signed_in("desk")
    warned = f"easurement 1 has the very points of measurement 1 of job {first};"
    assert warned in text_of(visitor.get(f"/jobs/{second}/surveys/1").text)
    assert "has the very points" not in text_of(visitor.get(f"/jobs/{first}/surveys/1").text)


def test_a_customer_reads_what_is_found_before_anything_else(shop: Shop) -> None:
    number = measured_job(shop, BOTH)
    visitor = shop.signed_in("desk")
    bent = text_of(visitor.get(f"/jobs/{number}/surveys/1").text)
    assert (
        "One part is not where it should be: the steering head "
        "(11 mm too far back, its top 1.1° to the left)." in bent
    )
    assert bent.index("One part is not") < bent.index("Outside the tolerances of reference")
    sound = text_of(visitor.get(f"/jobs/{number}/surveys/2").text)
    assert "All that had to be measured is where it should be: the steering head." in sound
    for text in (bent, sound, text_of(visitor.get(f"/jobs/{number}/before-and-after").text)):
        assert "the true value lies at most 0.07° above or below it" in text


def test_damage_that_was_seen_stands_beside_a_finding_within(shop: Shop) -> None:
    number = measured_job(shop, BOTH)
    inspector = shop.signed_in("inspector")
    pages = ("surveys/1", "surveys/2", "before-and-after", "sign-off")
    for page in pages:
        said = text_of(inspector.get(f"/jobs/{number}/{page}").text)
        assert "visual check was seen" not in said
    see_bent_forks(shop, number)
    told = "visual check was seen: bent or marked fork legs (left)."
    for page, start in zip(
        pages, ("At the", "But at the", "But at the", "But at the"), strict=True
    ):
        assert f"{start} {told}" in text_of(inspector.get(f"/jobs/{number}/{page}").text)


def see_bent_forks(shop: Shop, number: str) -> None:
    sent = {"item": "fork_tubes", "answer": "seen", "place": "left"}
    seen = VisualCheckIn.model_validate(sent)
    with shop.database.write() as session:
        visual_checks.answer(session, shop.people["technician"], number, [seen], shop.clock["now"])


def test_sentence_then_drawing_then_table(shop: Shop) -> None:
    number = measured_job(shop)
    page = shop.signed_in("desk").get(f"/jobs/{number}/surveys/1").text
    places = [page.index(one) for one in ('class="sentence"', 'class="sheet"', "<table")]
    assert places == sorted(places)


def test_the_exaggeration_is_chosen_by_a_form_and_always_said(shop: Shop) -> None:
    number = measured_job(shop)
    visitor = shop.signed_in("desk")
    here = f"/jobs/{number}/surveys/1"
    page = visitor.get(here).text
    assert f'<form class="times" method="get" action="{here}#drawing"' in page
    assert "<output>5 times</output>" in page
    assert "Deviations drawn 5 times." in page
    for asked, drawn, said in (
        ("20", "Deviations drawn 20 times.", "20 times"),
        ("1", "Deviations drawn at true size.", "true size"),
        ("13", "Deviations drawn 10 times.", "10 times"),
        ("999999999999", "Deviations drawn 5 times.", "5 times"),
        ("-3", "Deviations drawn 5 times.", "5 times"),
        ("twenty", "Deviations drawn 5 times.", "5 times"),
    ):
        page = visitor.get(f"{here}?times={asked}").text
        assert drawn in page
        assert f"<output>{said}</output>" in page
        assert f'aria-current="true">{said}</button>' in page


def drawn_on(page: str) -> list[str]:
    """The drawings of a page, as they stand there."""
    return re.findall(r'<svg[^>]*class="drawing">.*?</svg>', page, re.DOTALL)


def test_the_drawing_comes_alone_for_the_slider(shop: Shop) -> None:
    number = measured_job(shop)
    visitor = shop.signed_in("desk")
    piece = visitor.get(f"/jobs/{number}/surveys/1/drawing?times=10")
    assert piece.status_code == 200
    assert len(drawn_on(piece.text)) == 4
    assert "Deviations drawn 10 times." in piece.text
    page = visitor.get(f"/jobs/{number}/surveys/1?times=10").text
    assert drawn_on(piece.text) == drawn_on(page)
    assert "<table" not in piece.text
    assert shop.visitor().get(f"/jobs/{number}/surveys/1/drawing").status_code == 303


def all_phases(shop: Shop) -> str:
    """A job measured before, twice during, and after the correction."""
    number = measured_job(shop)
    bent = json.loads(seed_text("before-head-bent.json"))
    sound = json.loads(seed_text("after-corrected.json"))
    with shop.database.write() as session:
        person, now = shop.people["technician"], shop.clock["now"]
        jobs.note_correction(session, person, number, "pulled 8 mm forward", now=now)
        for document in ({**bent, "phase": "during"}, {**sound, "phase": "during"}, sound):
            surveys.submit(session, person, number, document, now)
    return number


def test_before_during_and_after_are_overlaid_and_stand_side_by_side(shop: Shop) -> None:
    number = all_phases(shop)
    visitor = shop.signed_in("desk")
    here = f"/jobs/{number}/before-and-after"
    page = visitor.get(here).text
    assert "What the correction changed: before, during and after" in text_of(page)
    drawing = page[page.index('class="sheet"') : page.index("</figure>")]
    for kind in ("reference", "before", "during", "measured"):
        assert f'class="{kind}"' in drawing
    assert "measured during the correction" in text_of(drawing)
    heads = [text_of(one) for one in re.findall(r"<thead>.*?</thead>", page)]
    assert all("before" in one and "during" in one and "after" in one for one in heads)
    for view, name in (("side", "right side"), ("above", "above"), ("behind", "behind")):
        page = visitor.get(f"{here}?way={view}&times=5").text
        beside = page[page.index('class="beside"') : page.index("Part by part")]
        assert re.findall(r"<figcaption>(\w+)</figcaption>", beside) == [
            "before",
            "during",
            "after",
        ]
        assert beside.count(f"Seen from {'the ' if view == 'side' else ''}{name}") >= 3
        assert beside.count("Deviations drawn 5 times.</text>") == 3
        assert len(drawn_on(visitor.get(f"{here}/drawing?way={view}").text)) == 3


def test_of_several_measurements_during_the_correction_one_is_chosen(shop: Shop) -> None:
    number = all_phases(shop)
    visitor = shop.signed_in("desk")
    latest = visitor.get(f"/jobs/{number}/before-and-after").text
    assert f'href="/jobs/{number}/surveys/3"' in latest
    chosen = visitor.get(f"/jobs/{number}/before-and-after?during=2&way=side").text
    assert f'href="/jobs/{number}/surveys/2"' in chosen
    assert f'href="/jobs/{number}/surveys/3"' not in chosen
    assert '<input type="hidden" name="during" value="2">' in chosen
    assert "before-and-after?during=2&amp;times=5&amp;way=above#drawing" in chosen


def test_a_correction_that_is_not_finished_can_be_seen_already(shop: Shop) -> None:
    number = measured_job(shop)
    with shop.database.write() as session:
        person, now = shop.people["technician"], shop.clock["now"]
        jobs.note_correction(session, person, number, "pulled 8 mm forward", now=now)
        document = {**json.loads(seed_text("after-corrected.json")), "phase": "during"}
        surveys.submit(session, person, number, document, now)
    visitor = shop.signed_in("desk")
    assert f'href="/jobs/{number}/before-and-after"' in visitor.get(f"/jobs/{number}").text
    assert (
        f'href="/jobs/{number}/before-and-after"' in visitor.get(f"/jobs/{number}/surveys/2").text
    )
    text = text_of(visitor.get(f"/jobs/{number}/before-and-after").text)
    assert "What the correction changed: before and during it" in text
    assert "measured after" not in text


def test_within_it_is_said_beside_the_drawing_that_deviations_are_drawn_larger(shop: Shop) -> None:
    number = measured_job(shop, BOTH)
    visitor = shop.signed_in("desk")
    larger = "Deviations are drawn many times larger than they are"
    before, after = (visitor.get(f"/jobs/{number}/surveys/{one}").text for one in (1, 2))
    assert larger not in text_of(before)
    assert text_of(after).index(larger) < text_of(after).index("Part by part")


def test_before_and_after_are_drawn_by_one_factor_in_a_comparison(shop: Shop) -> None:
    number = measured_job(shop, BOTH)
    page = shop.signed_in("desk").get(f"/jobs/{number}/before-and-after?way=beside").text
    drawn = re.findall(r"drawn (\d+) times", text_of(page))
    assert drawn
    assert len(set(drawn)) == 1


def test_what_levelling_makes_equal_has_no_uncertainty_of_nought(shop: Shop) -> None:
    number = measured_job(shop)
    text = re.sub(
        r"\s+", " ", text_of(shop.signed_in("desk").get(f"/jobs/{number}/surveys/1").text)
    )
    assert "made equal to the reference by levelling" in text
    assert " 0 mm" not in text.partition("Part by part")[2]
