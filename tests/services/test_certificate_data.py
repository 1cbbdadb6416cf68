"""The data inside a certificate follow the JSON schema that the program serves."""

import dataclasses
import json
from typing import Any

import pytest
from jsonschema import Draft202012Validator  # type: ignore[import-untyped]
from pydantic import TypeAdapter

from app.documents.content import CertificateContent
from app.schemas.certificate import FORMAT
from app.schemas.correction import CorrectionIn
from app.services import corrections, photo_sharing, photos
from app.services.register import CertificateData, read_content
from tests.services.certifying import Bench
from tests.services.composed import composed
from tests.services.pictures import prepared


@pytest.fixture(scope="module")
def schema() -> dict[str, Any]:
    return TypeAdapter(CertificateData).json_schema()


def faults(data: Any, schema: dict[str, Any]) -> list[str]:
    """As a validator that shares nothing with the program sees it."""
    Draft202012Validator.check_schema(schema)
    return [error.json_path for error in Draft202012Validator(schema).iter_errors(data)]


@pytest.mark.parametrize("kind", ["completion", "report"])
def test_the_data_follow_the_schema(done: Bench, schema: dict[str, Any], kind: Any) -> None:
    made = composed(done, kind)
    data = json.loads(made.data)
    assert data["format"] == FORMAT
    assert faults(data, schema) == []
    assert set(data) == set(schema["properties"])
    assert set(data["content"]) == set(schema["$defs"]["CertificateContent"]["properties"])


def test_the_data_are_canonical(done: Bench) -> None:
    """Keys sorted, no white space, letters as they are."""
    data = composed(done).data
    again = json.dumps(
        json.loads(data), sort_keys=True, separators=(",", ":"), ensure_ascii=False
    ).encode()
    assert again == data


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("format",), "jigbook.certificate/2"),
        (("finding",), "fine"),
        (("number",), 7),
        (("measurement", "result", "finding", "probability_all"), "high"),
        (("measurement", "survey", "points"), []),
        (("content", "people", "same_person"), "no"),
        (("machine", "year"), "2021"),
        (("corrections", 0, "method"), "hammered"),
        (("corrections", 0, "noted_at"), None),
        (("photos",), [{"sha256": "00"}]),
    ],
)
def test_what_does_not_follow_it_is_noticed(
    done: Bench, schema: dict[str, Any], path: tuple[Any, ...], value: object
) -> None:
    data = json.loads(composed(done).data)
    place = data
    for key in path[:-1]:
        place = place[key]
    assert path[-1] in place
    place[path[-1]] = value
    assert faults(data, schema)


def test_content_of_earlier_days_is_read_and_follows_it(
    done: Bench, schema: dict[str, Any]
) -> None:
    """Whatever came later has a default, in what is read and in the schema alike."""
    data = json.loads(composed(done).data)
    later = {
        field.name
        for field in dataclasses.fields(CertificateContent)
        if field.default is not dataclasses.MISSING
    }
    assert {"handling", "parts_not_measured", "no_change_because"} <= later
    for name in later:
        del data["content"][name]
    del data["corrections"], data["photos"], data["measurements_further"]
    for line in data["content"]["characteristics"]:
        for name in ("section", "sources", "change", "not_the_makers", "no_source"):
            del line[name]
    for name in ("looked", "in_brief"):
        del data["content"]["visual_check"][name]
    assert faults(data, schema) == []
    read = read_content(data["content"])
    assert (read.handling, read.no_change_because) == ((), "")
    assert (read.visual_check.in_brief, read.marks) == ("", frozenset())


def test_corrections_and_photos_stand_in_the_data_for_programs(done: Bench) -> None:
    shop = done.workshop
    sent = {"text": "yokes new", "part": "fork", "method": "replaced", "done_on": "2026-03-02"}
    shop.do(corrections.note, "technician", done.number, CorrectionIn.model_validate(sent))
    photo = shop.do(photos.add, "desk", done.number, prepared(80, 60), "zone.fork", "both tubes")
    shop.do(photo_sharing.share, "inspector", done.number, photo.id)
    data = json.loads(composed(done, "report").data)
    first, second = data["corrections"]
    assert (first["text"], first["part"], first["noted_by"]) == (
        "head pulled forward",
        None,
        "Tove",
    )
    assert {name: second[name] for name in sent} == sent
    assert data["photos"] == [
        {
            "sha256": photo.sha256,
            "about": "zone.fork",
            "caption": "both tubes",
            "width": 80,
            "height": 60,
        }
    ]
