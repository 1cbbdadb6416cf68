"""The finding's sentence: what it says of what is listed, and what it never says."""

import itertools

import pytest

from app.wording import cautions, checks, labels, levelling
from app.wording.verdicts import Tally, finding, finding_sentence, verdict

NOTHING_OF = "This says nothing of cracks, hidden damage or anything that is not listed."


def test_within_counts_what_is_listed_and_says_how_sure_that_is() -> None:
    tally = Tally("Example 700 rev. 2", ("head_twist", "head_offset"), probability_all=0.99996)
    assert finding_sentence("within", tally) == (
        "All 2 required characteristics are within the tolerances of reference Example 700 rev. 2: "
        "head twist, head offset. Probability that all that are required are so at once: "
        f"> 0.9999 (needed: 0.95). {NOTHING_OF}"
    )


def test_one_characteristic_is_spoken_of_in_the_singular() -> None:
    told = finding_sentence("within", Tally("", ("head_twist",), probability_all=0.97))
    assert told.startswith(
        "The one required characteristic is within the tolerance of the reference:"
    )


def test_outside_names_what_is_outside_and_what_was_not_measured() -> None:
    tally = Tally("R rev. 1", ("head_offset",), ("head_twist",), missing=("head_reach",))
    assert finding_sentence("outside", tally) == (
        "Outside the tolerance of reference R rev. 1: head twist. Not measured: head reach. "
        + NOTHING_OF
    )


@pytest.mark.parametrize(
    ("tally", "start"),
    [
        (Tally("R", undecided=("head_twist",), moved=True), "Undecided: the set-up moved"),
        (Tally("R", undecided=("head_twist",)), "Undecided against the tolerances of reference R:"),
        (Tally("R", missing=("head_twist",)), "Undecided: not all that is required"),
        (Tally("R"), "Undecided: nothing is required"),
        (
            Tally("R", ("head_twist", "head_offset"), probability_all=0.93),
            "Undecided: each required characteristic is within its tolerance, but",
        ),
    ],
)
def test_undecided_says_why(tally: Tally, start: str) -> None:
    assert finding_sentence("undecided", tally).startswith(start)


def test_very_many_are_counted_and_not_all_named() -> None:
    keys = tuple(f"control.spar_{n}.x" for n in range(12))
    within = finding_sentence("within", Tally("R", keys, probability_all=0.97))
    assert within.startswith(
        "All 12 required characteristics are within the tolerances of reference R."
    )
    outside = finding_sentence("outside", Tally("R", (), keys))
    assert "spar 6, forward; spar 7, forward and 4 more." in outside
    assert "spar 8" not in outside


def every_sentence() -> list[str]:
    keys: tuple[tuple[str, ...], ...] = ((), ("head_twist",), ("head_twist", "head_offset"))
    tallies = [
        Tally("R rev. 1", within, outside, undecided, missing, 0.97, 0.95, moved)
        for within, outside, undecided, missing in itertools.product(keys, repeat=4)
        for moved in (False, True)
    ]
    codes = ("within", "outside", "undecided")
    return [finding_sentence(code, tally) for code in codes for tally in tallies]


def test_no_finding_calls_the_machine_straight_and_every_one_says_what_it_leaves_out() -> None:
    sentences = every_sentence()
    assert len(sentences) == 486
    for sentence in sentences:
        assert "straight" not in sentence.lower()
        assert sentence.endswith(NOTHING_OF)


def test_a_verdict_names_the_side_and_a_survey_that_cannot_decide() -> None:
    assert verdict("outside", "above") == "outside, above the upper limit"
    assert verdict("outside", "below") == "outside, below the lower limit"
    assert verdict("undecided", cannot_decide=True) == "undecided: this survey cannot decide"
    assert verdict("within") == "within"
    assert verdict("no_tolerance") == "no limit"
    assert finding("outside") == "outside the tolerances"


def test_every_levelling_rule_has_its_own_sentence() -> None:
    rules = ("by_control", "by_line", "by_height", "by_angle", None)
    assert len({levelling.sentence(rule) for rule in rules}) == 5


def test_the_checks_say_what_they_could_have_seen() -> None:
    told = checks.rig("steady", "datum_and_steering", 0.6123)
    assert "A slip of 0.61 mm would have been caught 9 times in 10." in told
    assert "no verdict rests on this survey" in checks.rig("moved", "steering_only", None)
    assert "was not checked" in checks.rig("not_checked", "none", None)
    assert "0.95" in checks.decision_rule(0.95)
    assert checks.noise("noisier") != checks.noise("as_claimed")
    assert checks.orientation("checked") != checks.orientation("not_checked")


@pytest.mark.parametrize(
    "subject",
    ["Cracks", "wrinkled", "heat", "welds", "straightening", "aluminium", "chains", "battery",
     "fuel", "licensed inspection", "Local law", "maker's manual", "geometry only"],
)  # fmt: skip
def test_every_caution_of_the_design_is_among_those_that_are_shown(subject: str) -> None:
    assert subject in " ".join(cautions.everywhere())


def test_cautions_before_a_correction_are_some_of_all() -> None:
    assert set(cautions.before_correction()) < set(cautions.everywhere())
    assert set(cautions.before_measuring()) < set(cautions.everywhere())


@pytest.mark.parametrize(
    ("key", "name"),
    [
        ("head_twist", "head twist"),
        ("face_position", "head face along the steering axis"),
        ("pair_roll.tail_rail", "tail rail: roll of the pair"),
        ("control.engine_left.z", "engine left, upward"),
        ("distance.a.b", "distance from a to b"),
        ("something_new", "something_new"),
    ],
)
def test_a_characteristic_is_called_by_its_name(key: str, name: str) -> None:
    assert labels.characteristic(key) == name


def test_a_direction_in_words_is_never_below_a_limit() -> None:
    assert verdict("outside", "below", nominal=640.0) == "outside, below the lower limit"
    said = verdict("outside", "below", nominal=0.0)
    assert said == "outside, beyond the limit on that side"
    assert verdict("outside", "above", nominal=0.0) == said
