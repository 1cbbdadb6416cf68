"""What a finding and a comparison show."""

from app.services import surveys
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
