"""Every event that the program logs is told in words."""

import ast
import re
from collections.abc import Iterator

from app.services.permissions import ACTIONS
from app.wording import event_facts as facts
from app.wording import events
from app.wording.form_errors import FIELDS
from tests.wording.codes_in_use import ROOT

CODE = re.compile(r"[a-z_]+\.[a-z_]+")
NO_EVENTS = frozenset(FIELDS) | {
    "backup.tar", "claim.adjuster", "claim.adjuster_email", "claim.adjuster_phone",
    "claim.claim_number", "claim.insurer", "claim.insurer_id", "claim.policy_number",
    "customer.address", "customer.email", "customer.phone", "heading.mounting", "incident.account",
    "incident.impact_kind", "instrument.name", "machine.colour", "machine.plate",
    "manifest.json", "photos.txt", "register.csv", "station.ahead",
}  # fmt: skip
"""Fields of forms and names of files and steps, which look alike."""


def dotted() -> Iterator[str]:
    """Every text of the services that looks like the code of an event."""
    for path in sorted((ROOT / "services").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and CODE.fullmatch(str(node.value)):
                yield str(node.value)
            assert not (isinstance(node, ast.JoinedStr) and told_in_pieces(node)), path.name


def told_in_pieces(node: ast.JoinedStr) -> bool:
    """A code that is put together where it is used would not be found here."""
    first = node.values[0] if node.values else None
    of_events = {code.partition(".")[0] + "." for code in events.EVENTS} - {"customer."}
    return isinstance(first, ast.Constant) and first.value in of_events


def test_every_code_of_an_event_has_words() -> None:
    codes = set(dotted()) - NO_EVENTS - set(ACTIONS)
    assert codes - set(events.EVENTS) - set(events.PURPOSES) == set()
    assert len(codes) > 80, "the search itself has gone blind"


def test_no_words_are_left_over_of_events_that_are_logged_no_more() -> None:
    assert set(events.EVENTS) - set(dotted()) == set()


def test_what_stands_in_the_sentence_has_a_label_as_well() -> None:
    assert set(facts.TOLD_FIRST) <= set(events.EVENTS)
    assert {key for keys in facts.TOLD_FIRST.values() for key in keys} <= set(facts.LABELS)
    assert set(facts.FURTHER) <= set(facts.LABELS)


def test_a_value_is_told_in_words() -> None:
    names = {"customer:5": "", "customer:6": "Bo", "reference:1": "Invented 700"}
    told = {
        ("roles", ("desk", "owner")): "desk, owner",
        ("due", "2027-01-10"): "10 January 2027",
        ("due", "soon"): "soon",
        ("passed", True): "yes",
        ("from", 5): "erased",
        ("to", 6): "Bo",
        ("reference", 1): "Invented 700",
        ("deviation_mm", -0.25): "0.250 mm too short",
        ("deviation_u_mm", 0.08265582166902226): "0.082656",
        ("phase", "before"): "before the correction",
        ("finding", "never_heard_of"): "never_heard_of",
        ("name", None): "",
    }
    for (key, met), words in told.items():
        value = list(met) if isinstance(met, tuple) else met
        assert facts.value(key, value, names) == words
    fork = {"zone": "fork", "side": "left", "look": "bent", "note": "at the yoke"}
    assert facts.value("damage", [fork, "mirror gone"], {}) == (
        "fork, left: bent (at the yoke), mirror gone"
    )
    assert facts.value("changed", ["claim.adjuster", "plate"], {}) == "adjuster, plate"


def test_a_value_of_another_version_is_told_all_the_same() -> None:
    assert facts.label("frame_colour") == "frame colour"
    assert facts.label("plate_before") == "plate before"
    assert facts.label("plate_after") == "plate now"
    assert events.what("person.flew") == "person.flew"
    assert events.who("link:7", {}) == "link:7"
