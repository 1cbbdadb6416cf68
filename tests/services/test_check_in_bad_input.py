"""Bad input for every field of check-in: refused by name with nothing stored, or kept intact."""

from collections.abc import Iterator
from typing import Any

import pytest

from app.errors import BadInput
from app.services import check_in, insurers, jobs
from app.wording.errors import explain_all
from tests.services.forms import check_in_form
from tests.services.workshop import Workshop, copy_of

LINES = (
    "customer.name", "customer.phone", "customer.email", "machine.make", "machine.model",
    "machine.plate", "machine.colour", "claim.insurer.name", "claim.claim_number",
    "claim.policy_number", "claim.adjuster", "storage_place", "authorised_by",
)  # fmt: skip
TEXTS = (
    "customer.address", "customer.note", "machine.note", "claim.insurer.address",
    "incident.account", "authorised_scope",
)  # fmt: skip
WHOLE = (
    "customer_id", "machine_id", "machine.year", "claim.insurer_id", "incident.clock_direction",
    "odometer_km",
)  # fmt: skip
DAYS = ("incident.happened_on", "promised_on")
CHOICES = ("incident.impact_kind", "rideable")
LISTS = ("visible_damage", "belongings")
GROUPS = ("customer", "machine", "claim", "claim.insurer", "incident")
TICKED = ("privacy_notice_given",)
FIELDS = (
    *LINES, *TEXTS, *WHOLE, *DAYS, *CHOICES, *LISTS, *GROUPS, *TICKED, "machine.frame_number"
)  # fmt: skip
NEEDED = ("customer.name", "machine.make", "machine.model", "machine.frame_number")

NAN, INFINITE = float("nan"), float("1e999")
MEGABYTE = "x" * 1_000_000
OTHER_SCRIPT = "Ωμέγα 試験 тест"

WRONG: dict[str, tuple[Any, tuple[str, ...]]] = {
    "a number for a text": (12.5, (*LINES, *TEXTS, *CHOICES, *GROUPS, "machine.frame_number")),
    "not a number": (NAN, FIELDS),
    "beyond all numbers": (INFINITE, FIELDS),
    "a list for a value": (
        ["x"], tuple(field for field in FIELDS if field not in LISTS)
    ),
    "a group for a value": ({"x": 1}, FIELDS),
    "yes or no for a value": (True, tuple(field for field in FIELDS if field not in TICKED)),
    "a megabyte": (MEGABYTE, FIELDS),
    "another script": (
        OTHER_SCRIPT, (*WHOLE, *DAYS, *CHOICES, *LISTS, *GROUPS, *TICKED)
    ),
    "a control character": (
        "a\x00b", (*LINES, *TEXTS, *CHOICES, *WHOLE, *DAYS, *GROUPS, "machine.frame_number")
    ),
    "half a character": ("\ud800", tuple(f for f in FIELDS if f != "machine.frame_number")),
    "a number below all": (-1, (*WHOLE, *TEXTS, *LINES, *LISTS, *GROUPS, *CHOICES)),
    "a number far above": (10**40, FIELDS),
    "part of a whole number": ("3.5", (*WHOLE, *DAYS)),
    "a number in words of science": ("1e3", (*WHOLE, *DAYS)),
    "no day": ("2026-02-30", DAYS),
    "a very long number": ("9" * 100_000, (*WHOLE, *DAYS, *TEXTS, *LINES)),
}  # fmt: skip
CASES = [(name, field) for name, (_, fields) in WRONG.items() for field in fields]


def changed(field: str, value: Any) -> dict[str, Any]:
    """The complete form with one field put in place."""
    form = check_in_form()
    *groups, last = field.split(".")
    here = form
    for group in groups:
        here[group] = dict(here.get(group) or {})
        here = here[group]
    here[last] = value
    if field in ("customer_id", "machine_id"):
        del form[field.removesuffix("_id")]
    if field == "claim.insurer_id":
        del form["claim"]["insurer"]
    return form


@pytest.fixture(scope="module")
def shared(workshop_template: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Workshop]:
    """One workshop for all refusals: none of them may leave anything in it."""
    made = copy_of(workshop_template, tmp_path_factory.mktemp("bad") / "shop.sqlite")
    yield made
    made.database.close()


@pytest.mark.parametrize(("name", "field"), CASES)
def test_what_cannot_be_taken_is_refused_by_its_field(
    shared: Workshop, name: str, field: str
) -> None:
    with pytest.raises(BadInput) as refusal:
        shared.do(check_in.check_in, "desk", changed(field, WRONG[name][0]))

    named = [problem.field for problem in refusal.value.problems]
    assert any(one == field or one.startswith(f"{field}.") for one in named), named
    assert shared.counts()["job"] == shared.counts()["customer"] == shared.counts()["event"] == 0
    for _, explanation in explain_all(refusal.value):
        assert len(explanation.sentence) < 400
        assert "\ud800" not in explanation.sentence


@pytest.mark.parametrize("field", NEEDED)
@pytest.mark.parametrize("value", [None, "", "  \n ", "missing"])
def test_what_is_needed_is_asked_for(shared: Workshop, field: str, value: str | None) -> None:
    form = changed(field, value)
    if value == "missing":
        group, name = field.split(".")
        del form[group][name]

    with pytest.raises(BadInput) as refusal:
        shared.do(check_in.check_in, "desk", form)

    assert [(one.field, one.code) for one in refusal.value.problems] == [(field, "missing")]
    assert shared.counts()["job"] == 0


@pytest.mark.parametrize("field", [field for field in FIELDS if field not in NEEDED])
def test_a_field_left_empty_is_a_field_not_sent(workshop: Workshop, field: str) -> None:
    if field in ("customer", "machine", "customer_id", "machine_id"):
        with pytest.raises(BadInput) as refusal:
            workshop.do(check_in.check_in, "desk", changed(field, ""))
        assert [one.code for one in refusal.value.problems] == ["missing"]
        return

    done = workshop.do(check_in.check_in, "desk", changed(field, ""))

    assert workshop.see(jobs.read, "desk", done.job_number).status == "checked_in"


@pytest.mark.parametrize("field", [*LINES, *TEXTS])
def test_another_script_is_kept_to_the_letter(workshop: Workshop, field: str) -> None:
    done = workshop.do(check_in.check_in, "desk", changed(field, OTHER_SCRIPT))

    job = workshop.see(jobs.read, "desk", done.job_number)
    (insurer,) = workshop.see(insurers.find, "desk")
    assert OTHER_SCRIPT in repr((job, insurer))


@pytest.mark.parametrize("sent", [None, [], "text", 7, NAN, [["customer", 1]]])
def test_what_is_no_form_at_all_is_refused(shared: Workshop, sent: Any) -> None:
    with pytest.raises(BadInput):
        shared.do(check_in.check_in, "desk", sent)
