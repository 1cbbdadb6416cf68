"""What is noticed about readings, in words: every code has its three parts, and facts fill them."""

import re

import pytest

from app.chassis import noticed as codes
from app.chassis.noticed import Noticed
from app.errors import Fact, Refusal
from app.wording.errors import explain
from app.wording.noticed import STATIONS, TABLE, UNITS, noticed, place, station
from tests.wording.codes_in_use import uses

FACTS: dict[str, dict[str, Fact]] = {
    "point_implausible": {
        "label": "left", "distance_mm": 1234.56, "lowest_mm": 0.0, "highest_mm": 200.0,
        "reason": "far",
    },
    "point_implausible:unit": {
        "label": None, "distance_mm": 12.3, "lowest_mm": 300.0, "highest_mm": 900.0,
        "reason": "unit", "unit": "metres",
    },
    "point_implausible:sign": {
        "label": None, "distance_mm": 12.3, "lowest_mm": 300.0, "highest_mm": 900.0,
        "reason": "sign", "axis": "Y",
    },
    "point_implausible:comma": {
        "label": None, "distance_mm": 12.3, "lowest_mm": 300.0, "highest_mm": 900.0,
        "reason": "comma", "axis": "Y",
    },
    "point_implausible:fits": {
        "label": "tail.left", "distance_mm": 12.3, "lowest_mm": 300.0, "highest_mm": 900.0,
        "reason": "fits", "fits": "control", "fits_label": "seat_rear",
    },
    "point_implausible:or_datum": {
        "label": "left", "distance_mm": 1234.56, "lowest_mm": 0.0, "highest_mm": 200.0,
        "reason": "or_datum",
    },
    "side_contradicts:or_datum": {"label": "tail.left", "distance_mm": 80.0, "reason": "or_datum"},
    "reading_off": {"label": "right", "x_mm": 4125.54, "y_mm": -150.0, "z_mm": 0.25},
    "repeats_apart": {"label": "right", "distance_mm": 1350.0, "limit_mm": 120.0},
    "apart_implausible": {
        "label": "left", "other": "right", "distance_mm": 4.0, "lowest_mm": 80.0,
        "highest_mm": 1500.0, "reason": "far", "unit": None,
    },
    "apart_implausible:unit": {
        "label": "left", "other": "right", "distance_mm": 0.5, "lowest_mm": 80.0,
        "highest_mm": 1500.0, "reason": "unit", "unit": "inches",
    },
    "same_place": {
        "label": "left", "other": "pivot", "other_label": "left", "distance_mm": 0.02,
    },
    "sides_swapped": {"label": "tail", "distance_mm": 210.0},
    "side_contradicts": {"label": "tail.left", "distance_mm": 80.0},
    "axes_contradict": {"agreement": -0.9, "needed_agreement": 0.3},
    "turns_contradict": {"left_deg": -20.0, "right_deg": 20.0},
    "targets_apart": {
        "one": "upper", "other": "lower", "station": "half_left", "met_mm": 301.234,
        "needed_mm": 299.0,
    },
    "targets_swapped": {"one": "upper", "other": "lower", "station": "s1"},
    "off_its_circle": {
        "label": "upper", "station": "ahead", "distance_mm": 9.876, "limit_mm": 2.5,
    },
    "station_near": {"station": "left", "other": "half_left", "met_deg": 1.23, "needed_deg": 4.0},
    "targets_close": {"one": "upper", "other": "lower", "met_mm": 55.5, "needed_mm": 100.0},
    "targets_stacked": {"one": "upper", "other": "lower", "met_deg": 12.0, "needed_deg": 60.0},
    "targets_opposite": {"one": "upper", "other": "lower", "met_deg": 170.0, "needed_deg": 120.0},
    "set_up_moved": {"scope": "everything"},
    "set_up_moved:steering": {"scope": "steering"},
    "set_up_moved:unknown": {"scope": "unknown"},
    "set_up_moved:steering_at": {"scope": "steering", "reason": "steering_at", "station": "right"},
    "set_up_moved:unknown_at": {"scope": "unknown", "reason": "unknown_at", "station": "left"},
    "stations_disagree": {"other": "right"},
    "return_elsewhere": {"label": "upper", "distance_mm": 412.53, "limit_mm": 60.0},
    "return_elsewhere:turn": {
        "reason": "turn", "turned_deg": 135.72, "station": "left", "limit_deg": 70.0,
    },
    "station_again": {"station": "right", "turned_deg": 1.3},
}  # fmt: skip


def test_every_sentence_is_tried() -> None:
    assert set(FACTS) == set(TABLE)


@pytest.mark.parametrize("code", FACTS)
def test_facts_fill_the_sentence(code: str) -> None:
    said = noticed(code.partition(":")[0], "pivot_face", FACTS[code])
    for part in said:
        assert part
        assert "{" not in part
        assert "–" not in part
        assert "“" not in part
        assert "_" not in part
        assert not re.search(r"\d\.\d\d", part)


def test_every_code_that_the_engine_notices_has_its_words() -> None:
    used = {use.code for use in uses(frozenset({"Noticed"}))}
    assert {"point_implausible", "set_up_moved", "station_near"} <= used
    assert used <= {code.partition(":")[0] for code in TABLE}


def test_every_code_stands_in_the_table_of_its_module() -> None:
    assert codes.__doc__ is not None
    assert {code.partition(":")[0] for code in TABLE} <= set(re.findall(r"\w+", codes.__doc__))


def test_a_refusal_is_told_in_the_engines_own_words() -> None:
    found = Noticed("pair_swapped", "pair", (("label", "tail"), ("distance_mm", 12.0)))
    said = noticed(found.code, found.feature, dict(found.facts))
    assert said == explain(Refusal(found.code, found.feature, **dict(found.facts)))
    assert "12" in said.met


def test_targets_keep_their_names_and_stations_are_said_as_on_the_page() -> None:
    apart = noticed("targets_apart", "steer_target", FACTS["targets_apart"])
    assert apart.met == "targets upper and lower are 301.2 mm apart at station half left"
    near = noticed("station_near", "steer_target", FACTS["station_near"])
    assert near.met == "station left is turned only 1.2° from station half left"


def test_places_and_stations_are_called_as_people_do() -> None:
    assert place("pivot_face", "left") == "frame face beside the pivot, left"
    assert place("control", "seat_rear").endswith("seat rear")
    assert place("head_face", None) == place("head_face", "")
    assert station("half_left") == "half left"
    assert station("my_own") == "my own"
    assert set(STATIONS) == {"left", "half_left", "ahead", "half_right", "right"}
    assert set(UNITS) == {"metres", "inches", "centimetres"}


def test_a_set_up_that_moved_says_by_how_much_to_the_digit_of_its_uncertainty() -> None:
    slip: dict[str, Fact] = {
        "scope": "everything", "slipped": "pivot", "slipped_label": "left", "slip_mm": 1.2345,
        "slip_u_mm": 0.123,
    }  # fmt: skip
    told = noticed("set_up_moved", None, slip)
    assert told.met.endswith("moved (swing-arm pivot axis, left: 1.23 mm away, ±0.12 mm)")
    assert told.action.startswith("first touch the same place once more")
