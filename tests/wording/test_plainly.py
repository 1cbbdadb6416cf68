"""What a customer is told: the parts by name, what is not sure, and what ± means."""

from app.wording import plainly
from app.wording.plainly import Parts
from app.wording.sections import TITLES


def said(verdict: str, parts: Parts, *, moved: bool = False, missing: bool = False) -> str:
    return plainly.finding(verdict, parts, moved=moved, missing=missing)


def test_every_section_has_a_name_that_one_would_say() -> None:
    assert set(plainly.PARTS) == set(TITLES)


def test_each_section_stands_by_its_worst_finding() -> None:
    found = [
        ("head", "within"),
        ("head", "outside"),
        ("fork", "undecided"),
        ("fork", "within"),
        ("arm", "within"),
        ("arm", "no_tolerance"),
        ("datum", "no_tolerance"),
    ]
    assert plainly.parts_of(found) == Parts(("head",), ("fork",), ("arm",))


def test_what_is_outside_comes_first_and_nothing_is_left_out() -> None:
    told = said("outside", Parts(("head", "fork"), ("wheels",), ("arm", "datum", "frame")))
    assert told == (
        "2 parts are not where they should be: the steering head and the fork. "
        "Not sure enough to say: the line of the wheels. "
        "Where it should be: the swing arm, the swing-arm pivot and the tail and the mounting "
        "points."
    )


def test_one_part_is_said_in_the_singular() -> None:
    told = said("outside", Parts(("head",)))
    assert told == "One part is not where it should be: the steering head."


def test_within_speaks_only_of_what_had_to_be_measured() -> None:
    told = said("within", Parts((), ("fork",), ("head",)))
    assert told.startswith("All that had to be measured is where it should be: the steering head.")
    assert "Not sure enough to say: the fork." in told


def test_undecided_says_why() -> None:
    assert "not sure enough about the fork" in said("undecided", Parts((), ("fork",), ("head",)))
    assert "not everything that is needed" in said(
        "undecided", Parts((), (), ("head",)), missing=True
    )
    assert "all at once" in said("undecided", Parts((), (), ("head",)))
    assert "no limits" in said("undecided", Parts())
    assert "something moved" in said("undecided", Parts(("head",)), moved=True)


def test_a_moved_set_up_accuses_no_part() -> None:
    assert "steering head" not in said("undecided", Parts((), ("head",)), moved=True)


def test_plus_minus_is_told_with_a_number_of_the_finding() -> None:
    assert plainly.plus_minus(0.0712, "deg") == (
        "± 0.07° after a number means: the true value lies at most 0.07° above or below it, "
        "with a chance of about 95 in 100."
    )
    assert "at most 0.38 mm" in plainly.plus_minus(0.3812, "mm")
    assert [plainly.worth_showing(one) for one in (0.0, 0.004, 0.006)] == [False, False, True]


def test_what_the_visual_check_saw_is_said_beside_the_finding() -> None:
    seen = ["bent or marked fork legs (left)"]
    assert plainly.seen_besides("within", []) == ""
    told = "at the visual check was seen: bent or marked fork legs (left)."
    assert plainly.seen_besides("within", seen) == f"But {told}"
    assert plainly.seen_besides("outside", seen) == told[:1].upper() + told[1:]
    assert plainly.seen_besides("within", list("abcdef")).endswith("a, b, c, d and 2 more.")
