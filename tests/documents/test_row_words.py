"""What stands in words below a row's figures: everything once, nothing left out."""

from dataclasses import replace

import pytest

from app.documents.content import CharacteristicLine, Reading
from app.documents.made_with import NOTHING, both_made, made_alike, made_apart
from app.documents.row_words import background, findings, told, usual_factor, which_way
from tests.documents.examples import CONTENT, EARLIER, OFFSET, REACH, TWIST


def deviating(line: CharacteristicLine, before: str, now: str) -> CharacteristicLine:
    assert line.before is not None
    return replace(
        line,
        before=replace(line.before, deviation=before),
        now=replace(line.now, deviation=now),
    )


@pytest.mark.parametrize(
    ("before", "now", "words"),
    [
        ("3.1 mm to the left", "0.3 mm to the left", "before 3.1, now 0.3 mm to the left"),
        ("0.9° clockwise", "0.1° clockwise", "before 0.9°, now 0.1° clockwise"),
        ("0.2 mm forward", "0.2 mm forward", "both times 0.2 mm forward"),
        ("3.1 mm to the left", "0.3 mm to the right", None),
        ("0.1° with the left end high", "under 0.1° with the left end high", None),
        ("under 0.1° with the left end high", "0.1° with the left end high", None),
        ("in the middle", "0.3 mm to the right", None),
        ("at the middle", "in the middle", None),
    ],
)
def test_what_both_measurements_say_alike_is_said_once(
    before: str, now: str, words: str | None
) -> None:
    said = which_way(deviating(OFFSET, before, now))
    assert said == (words or f"before {before}, now {now}")


def test_a_measurement_alone_says_its_deviation() -> None:
    assert which_way(replace(OFFSET, before=None)) == OFFSET.now.deviation


def found(line: CharacteristicLine, **readings: Reading | None) -> list[str]:
    return list(findings(replace(line, **readings)))  # type: ignore[arg-type]


def test_a_finding_is_told_where_it_says_more_than_its_word() -> None:
    outside = TWIST.before
    assert outside is not None
    assert found(TWIST) == ["before outside, above the upper limit"]
    assert found(TWIST, before=TWIST.now, now=outside) == ["now outside, above the upper limit"]
    assert found(TWIST, now=outside) == ["both times outside, above the upper limit"]
    assert found(TWIST, before=None, now=outside) == ["outside, above the upper limit"]
    assert found(TWIST, before=None) == []
    below = replace(outside, finding="outside, below the lower limit")
    assert found(TWIST, now=below) == [
        "before outside, above the upper limit",
        "now outside, below the lower limit",
    ]


def test_a_row_tells_change_and_the_probability_before() -> None:
    words = told(replace(OFFSET, change="moved 2.8 mm to the right (± 0.6 mm)"))
    assert words.startswith(
        "before 3.1, now 0.3 mm to the left of the middle; change: moved 2.8 mm"
    )
    assert words.endswith("; P before 0.0021")
    assert "P before" not in told(replace(OFFSET, before=None))


def test_a_value_with_a_direction_of_its_own_is_told_beside_its_deviation() -> None:
    assert REACH.before is not None
    now = replace(REACH.now, value="3 mm behind the pivot axis", figure="3 mm")
    before = replace(REACH.before, value="1 mm behind the pivot axis", figure="1 mm")
    assert told(replace(REACH, now=now, before=None)).startswith("3 mm behind the pivot axis; ")
    words = told(replace(REACH, now=now, before=before))
    assert words.startswith("before 1 mm behind the pivot axis; now 3 mm behind the pivot axis; ")


def factored(line: CharacteristicLine, before: str, now: str) -> CharacteristicLine:
    assert line.before is not None
    return replace(
        line,
        before=replace(line.before, coverage_factor=before),
        now=replace(line.now, coverage_factor=now),
    )


@pytest.mark.parametrize(
    ("before", "now", "words"),
    [
        ("1.96", "1.96", ""),
        ("2.10", "2.10", "k = 2.10"),
        ("1.96", "2.10", "k = 1.96 before, 2.10 now"),
        ("", "2.10", "k = 2.10"),
        ("", "", ""),
    ],
)
def test_a_row_names_its_coverage_factors_where_they_are_not_the_usual_one(
    before: str, now: str, words: str
) -> None:
    line = replace(factored(OFFSET, before, now), description="", sources="")
    assert background(line, "1.96") == words


def test_the_usual_coverage_factor_is_that_of_most_readings() -> None:
    assert usual_factor(CONTENT) == "1.96"
    none = tuple(factored(line, "", "") for line in CONTENT.characteristics)
    assert usual_factor(replace(CONTENT, characteristics=none)) == ""


def test_the_background_is_what_is_measured_and_where_its_uncertainty_comes_from() -> None:
    line = replace(OFFSET, description="how far it stands", sources="rear axle 64 %")
    assert background(line, "1.96") == "how far it stands; U from rear axle 64 %"
    assert background(replace(line, description=""), "1.96") == "U from rear axle 64 %"


@pytest.mark.parametrize("content", [CONTENT, EARLIER])
def test_both_measurements_stand_side_by_side_with_all_facts_of_each(content: object) -> None:
    content = CONTENT if content is CONTENT else replace(EARLIER, before=CONTENT.before)
    lines = {line.label: (line.before, line.now) for line in both_made(content)}
    assert lines["Measured"][0] == "3 March 2026, 09:40 UTC+01:00"
    assert lines["Measured"][1].startswith("4 March 2026, 09:40")
    assert lines["Mounting"] == ("engine in, wheels out, on side stands",) * 2
    assert lines["Temperature"] == ("22.5 °C", NOTHING)
    assert lines["Part temperature"] == (NOTHING, "24.0 °C")
    shown = [value for pair in lines.values() for value in pair]
    facts = (*content.instrument, *content.conditions, *content.before)
    assert [line for line in facts if line.value not in shown] == []
    apart, alike = made_apart(content), made_alike(content)
    assert {line.label: (line.before, line.now) for line in apart} | {
        line.label: (line.value, line.value) for line in alike
    } == lines
    assert "Mounting" in {line.label for line in alike}
    assert all(line.before != line.now for line in apart)
