"""What a form sent: nested names, limits, exactness."""

import asyncio

import pytest
from starlette.requests import Request

from app.errors import BadInput
from app.web.forms import (
    MAX_FIELDS,
    MAX_ITEMS,
    MAX_LONG_TEXT,
    MAX_TEXT,
    Form,
    checked,
    nested,
    read_form,
)

URLENCODED = b"application/x-www-form-urlencoded"


def form_of(body: bytes, content_type: bytes = URLENCODED, *stated: bytes) -> Form:
    """stated: the length of the body as the request says it."""

    async def receive() -> dict[str, object]:
        return {"type": "http.request", "body": body, "more_body": False}

    scope = {
        "type": "http",
        "method": "POST",
        "path": "/",
        "query_string": b"",
        "headers": [
            (b"content-type", content_type),
            *[(b"content-length", length) for length in stated],
        ],
        "app": None,
    }
    return asyncio.run(read_form(Request(scope, receive)))


def code_of(error: pytest.ExceptionInfo[BadInput]) -> tuple[str, str]:
    return error.value.problems[0].code, error.value.problems[0].field


def test_names_with_dots_become_nested_data() -> None:
    sent = [("points.0.x", "1"), ("points.0.y", "2"), ("points.1.x", "3"), ("by", "M. Invented")]
    assert nested(sent) == {
        "points": [{"x": "1", "y": "2"}, {"x": "3"}],
        "by": "M. Invented",
    }


def test_numbers_say_the_order_of_a_list_and_leave_no_gap() -> None:
    sent = [("points.10.x", "last"), ("points.2.x", "first")]
    assert nested(sent) == {"points": [{"x": "first"}, {"x": "last"}]}


@pytest.mark.parametrize(
    ("names", "code"),
    [
        (("a", "a.b"), "field_name_unusable"),
        (("a.b", "a"), "field_name_unusable"),
        (("a..b",), "field_name_unusable"),
        ((".",), "field_name_unusable"),
        (("a.b.c.d.e",), "field_name_unusable"),
        (("p." + "9" * 5000,), "field_name_unusable"),
        (tuple(f"p.{i}.x" for i in range(MAX_ITEMS + 1)), "too_many_rows"),
    ],
)
def test_names_that_make_no_sense_are_refused(names: tuple[str, ...], code: str) -> None:
    with pytest.raises(BadInput) as error:
        nested((name, "1") for name in names)
    assert code_of(error)[0] == code


def test_digits_of_another_script_are_names_and_not_places_in_a_list() -> None:
    assert nested([("points.٣.x", "1")]) == {"points": {"٣": {"x": "1"}}}


def test_text_is_stripped_and_a_password_is_not() -> None:
    form = form_of(b"name=+Ada+&password=+two+spaces+")
    assert form.text("name") == "Ada"
    assert form.exact("password") == " two spaces "


def test_the_last_value_of_a_repeated_field_stands_and_all_can_be_had() -> None:
    form = form_of(b"role=desk&role=owner")
    assert form.text("role") == "owner"
    assert form.all("role") == ("desk", "owner")


def test_line_ends_become_one_character() -> None:
    assert form_of(b"note=one%0D%0Atwo").text("note") == "one\ntwo"


@pytest.mark.parametrize("character", ["%00", "%07", "%1b", "\u202e", "\u2028"])
def test_control_characters_are_refused(character: str) -> None:
    with pytest.raises(BadInput) as error:
        form_of(f"note=a{character}b".encode())
    assert code_of(error) == ("control_character", "note")


def test_a_text_over_its_limit_is_refused_and_one_at_its_limit_taken() -> None:
    assert checked("note", "a" * MAX_TEXT)
    assert checked("table", "a" * MAX_LONG_TEXT)
    for name, length in (("note", MAX_TEXT), ("table", MAX_LONG_TEXT)):
        with pytest.raises(BadInput) as error:
            checked(name, "a" * (length + 1))
        assert code_of(error) == ("text_too_long", name)


def test_a_file_keeps_its_bytes_and_no_file_is_none() -> None:
    body = (
        b'--b\r\nContent-Disposition: form-data; name="sent"; filename="../x.csv"\r\n\r\n'
        b'\xff\x00\r\n--b\r\nContent-Disposition: form-data; name="empty"; filename=""\r\n\r\n'
        b"\r\n--b--\r\n"
    )
    form = form_of(body, b"multipart/form-data; boundary=b")
    sent = form.file("sent")
    assert sent is not None
    assert sent.content == b"\xff\x00"
    assert form.file("empty") is None
    assert form.file("other") is None


def test_a_broken_multipart_body_is_refused() -> None:
    with pytest.raises(BadInput) as error:
        form_of(b"--b\r\nnonsense", b"multipart/form-data")
    assert code_of(error) == ("form_not_readable", "form")


def test_too_many_fields_are_refused() -> None:
    with pytest.raises(BadInput) as error:
        form_of("&".join(f"f{i}=1" for i in range(3000)).encode())
    assert code_of(error) == ("form_not_readable", "form")


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"a=1&b=2&a=3",
        b"a=&b&=c&&d=1",
        b"a=1+2%2B3&b=%C3%85se&name%2E0=%0D%0A",
        b"a=\xc3\xa5&b=%FF%zz%",
        b"a=b=c;d=e",
        b"a=1&",
    ],
)
def test_a_short_form_is_read_as_the_framework_reads_it(body: bytes) -> None:
    """Without a stated length the framework's parser is taken."""
    length = str(len(body)).encode()
    assert form_of(body, URLENCODED, length) == form_of(body)


def test_a_short_form_of_too_many_fields_is_refused_too() -> None:
    body = b"&".join([b"a="] * (MAX_FIELDS + 1))
    with pytest.raises(BadInput) as error:
        form_of(body, URLENCODED, str(len(body)).encode())
    assert code_of(error) == ("form_not_readable", "form")
