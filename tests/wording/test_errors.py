"""Every code has its three parts, and every part says what it speaks of."""

import string

import pytest

from app.chassis import caveats, refusals
from app.chassis.result import Caveat
from app.errors import BadInput, NotFound, Problem, Refusal, RefusedToIssue
from app.schemas import problems
from app.wording import errors, warnings
from app.wording.errors import explain, explain_all, explanations
from app.wording.explanation import Explanation
from tests.wording.codes_in_use import Use, uses

CODES_FROM_TABLES = frozenset(problems._CODES.values())


def test_every_code_that_is_used_has_an_explanation() -> None:
    used = {use.code: use.place for use in uses()} | dict.fromkeys(CODES_FROM_TABLES, "schemas")
    without = {code: place for code, place in used.items() if code not in explanations()}
    assert not without
    assert len(used) > 60, "the search itself has gone blind"


def test_every_warning_of_the_engine_has_a_sentence() -> None:
    used = {use.code for use in uses(frozenset({"Caveat"}))}
    assert used
    assert used <= {code.split(":")[0] for code in warnings.WARNINGS}


def test_an_explanation_asks_only_for_facts_that_are_given() -> None:
    """Where the facts stand in the call itself; those held in variables are met elsewhere. One
    test: each process that collects would else read the whole source for the names alone."""
    seen = [use for use in uses() if use.facts is not None]
    assert len(seen) > 400, "the search itself has gone blind"
    wrong = {str(use): missing for use in seen if (missing := _not_given(use))}
    assert wrong == {}


def _not_given(use: Use) -> set[str]:
    facts = use.facts or frozenset()
    asked = _names(explanations().get(use.code, errors.UNKNOWN))
    given = facts | _passed_by_class(use.code) | _put_into_words(facts)
    return asked - {"where", "code", "feature"} - given


def _put_into_words(facts: frozenset[str]) -> frozenset[str]:
    """A characteristic's name, and a difference in its unit, stand in for what names them."""
    made = {"characteristic": {"key"}, "apart": {"key", "unit", "difference"}}
    return frozenset(name for name, needed in made.items() if needed <= facts)


def _passed_by_class(code: str) -> frozenset[str]:
    return frozenset({"retry_after_s"}) if code == "too_many_tries" else frozenset()


def _names(explanation: Explanation) -> set[str]:
    clauses = (explanation.met, explanation.needed, explanation.action)
    return {name for c in clauses for _, name, _, _ in string.Formatter().parse(c) if name}


@pytest.mark.parametrize("code", sorted(explanations()))
def test_an_explanation_has_three_parts_and_never_says_invalid(code: str) -> None:
    explanation = explanations()[code]
    assert all((explanation.met, explanation.needed, explanation.action))
    assert "invalid" not in explanation.sentence.lower()
    assert not explanation.sentence.endswith(".")


def test_the_house_example_of_an_error_is_said_in_three_parts() -> None:
    explanation = explain(refusals.target_hardly_moves("upper", 3.1, 5.0))
    assert explanation.sentence == (
        "target upper moves only 3.1 mm between its farthest stations; at least 5 mm (50 times its "
        "uncertainty) is needed to see the axis: turn the steering further to each side"
    )


def test_a_problem_of_a_point_names_the_point_as_people_count() -> None:
    problem = Problem("wrong_type", "points.3.x", {"met": "412,5", "needed": "number"})
    assert explain(problem).sentence == "point 4, x is “412,5”; a number is needed: correct it"


def test_a_disagreement_names_its_characteristic_and_its_size() -> None:
    refusal = refusals.combine_disagrees(2, "head_twist", "deg", -0.31, 40.12, 22.2)
    assert "head twist, where measurement 2 lies 0.31° from what all say" in explain(refusal).met


def test_a_problem_of_a_row_names_the_row_of_the_file() -> None:
    assert explain(Problem("missing", "rows.7.y")).met == "row 7, y is missing"


def test_an_engine_refusal_of_a_point_names_it() -> None:
    refusal = refusals.offset_without_normal("pivot", 2, 3.0)
    assert explain(refusal).met.startswith("point 2 carries an offset")


def test_several_problems_are_counted_and_all_explained() -> None:
    error = BadInput([Problem("missing", "points.0.x"), Problem("missing", "points.0.y")])
    assert explain(error).action == "add it (and 1 further problem)"
    assert [e.met for _, e in explain_all(error)] == [
        "point 1, x is missing",
        "point 1, y is missing",
    ]


def test_reasons_against_a_certificate_are_all_explained() -> None:
    error = RefusedToIssue([Problem("set_up_moved", ""), Problem("no_reference_revision", "")])
    assert [problem.code for problem, _ in explain_all(error)] == [
        "set_up_moved",
        "no_reference_revision",
    ]


def test_a_code_without_words_is_still_told() -> None:
    assert "never_heard_of" in explain(NotFound("never_heard_of")).sentence


def test_a_fact_that_was_not_given_is_a_dash_and_no_exception() -> None:
    assert explain(Refusal("too_few_stations", "steer_target")).met.endswith("measured: –")


@pytest.mark.parametrize(
    "caveat",
    [
        caveats.faces_missing(("left",)),
        caveats.head_face_missing(),
        caveats.pair_incomplete("tail", "left"),
        caveats.points_disagree("control", "engine_front_left", 900.0, 13.8),
        caveats.steering_missing(),
        caveats.probe_radius_unknown("head_face", 3),
        caveats.temperature_unknown(),
        caveats.scale_temperature_unknown(),
        caveats.material_unknown("frame", "own_alloy"),
        caveats.material_unknown("frame", None),
        caveats.levelling_missing("by_height", "nominal"),
        caveats.levelling_missing(None, "rule"),
        caveats.levelling_impossible("by_height", 600.0, 700.0, None),
        caveats.face_damaged(0.9, 0.1),
        caveats.head_face_doubtful(tilt_deg=9.0, distance_mm=4.0, statistic=900.0, limit=10.8),
        caveats.pivot_face_doubtful(
            "left", tilt_deg=9.0, distance_mm=4.0, statistic=900.0, limit=10.8
        ),
        caveats.bore_and_arc_disagree(
            statistic=900.0,
            limit=18.5,
            angle_deg=1.26,
            distance_mm=1.5,
            twist_arc_deg=0.2,
            twist_bore_deg=-1.06,
            axis_distance_arc_mm=738.1,
            axis_distance_bore_mm=738.4,
        ),
        caveats.first_order_only_tilt(0.8),
        caveats.by_trials(50_000),
        caveats.datum_bent(0.8, 40.0, 13.8),
        caveats.noisier_than_claimed(2.1, 80.0, 39.3),
        caveats.replicates_scatter(0.3, 9.0, 4),
        caveats.first_order_only("upper", 0.13),
        caveats.steering_turned_little(31.0, 40.0),
        caveats.targets_stacked(12.0),
        caveats.targets_opposite(172.0),
        caveats.target_seen_once("third"),
        caveats.return_without_first("pivot", "left"),
        caveats.return_without_first("pivot", None),
        caveats.orientation_not_checked(),
    ],
    ids=lambda caveat: str(caveat.code),
)
def test_a_warning_has_a_word_for_every_fact(caveat: Caveat) -> None:
    message = warnings.message(caveat.code, caveat.feature, dict(caveat.facts))
    assert "–" not in message
    assert "{" not in message
    assert caveat.code not in message
    assert message.endswith(".")


def test_bore_and_arcs_are_told_both_with_their_senses() -> None:
    facts = {
        "angle_deg": 1.26,
        "distance_mm": 1.5,
        "twist_arc_deg": 0.2,
        "twist_bore_deg": -1.06,
        "axis_distance_arc_mm": 738.1,
        "axis_distance_bore_mm": 739.4,
    }
    message = warnings.message("bore_and_arc_disagree", "head_bore", {**facts})
    assert "By the arcs: twist 0.20° clockwise" in message
    assert "by the seats: twist 1.06° anticlockwise" in message
    assert "738.1 mm" in message
    assert "739.4 mm" in message


def test_a_ratio_is_rounded() -> None:
    facts = {"birge_ratio": 1.673314, "statistic": 44.8, "limit": 39.25}
    assert "scatter 1.67 times" in warnings.message("noisier_than_claimed", None, {**facts})
