"""What a form sent: text fields and files, counted, bounded and, where needed, nested."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated
from urllib.parse import parse_qsl

from fastapi import Depends, Request
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException

from app.errors import BadInput, Problem
from app.schemas.problems import shortened
from app.schemas.sent import PROSE_UNFIT

TYPED = "application/x-www-form-urlencoded"
MOST_TYPED = 16 * 1024
"""Bytes of a form that is read before it is known who sends it: reading it is next to nothing."""
MAX_FIELDS = 2500
MAX_FILES = 60
"""More than any form takes: too many are told beside their field, and nothing typed is lost."""
MAX_TEXT = 4000
MAX_LONG_TEXT = 1024 * 1024
LONG_FIELDS = frozenset({"table", "document", "strokes"})
MAX_ITEMS = 500
MAX_DEPTH = 4
MAX_NAME = 120
CONTROL = re.compile(f"[{PROSE_UNFIT}]")

Value = str | list["Value"] | dict[str, "Value"]


@dataclass(frozen=True, slots=True)
class SentFile:
    """A file as it was sent. Its name is the sender's word and never becomes a path."""

    name: str
    content: bytes


@dataclass(frozen=True, slots=True)
class Form:
    """The fields in the order in which they came."""

    fields: tuple[tuple[str, str], ...] = ()
    files: tuple[tuple[str, SentFile], ...] = ()

    def text(self, name: str) -> str:
        """The last value of a field without the space around it; empty when it did not come."""
        return self.exact(name).strip()

    def exact(self, name: str) -> str:
        """The last value of a field as it was typed: a password may begin with a space."""
        return next((value for key, value in reversed(self.fields) if key == name), "")

    def all(self, name: str) -> tuple[str, ...]:
        """Every value of a field that may come more than once."""
        return tuple(value for key, value in self.fields if key == name)

    def file(self, name: str) -> SentFile | None:
        """A file; None when none was chosen (browsers then send one without name or content)."""
        sent = next((file for key, file in self.files if key == name), None)
        return sent if sent and (sent.name or sent.content) else None

    def files_of(self, name: str) -> tuple[SentFile, ...]:
        """Every file that was chosen for a field."""
        sent = (file for key, file in self.files if key == name)
        return tuple(file for file in sent if file.name or file.content)

    def values(self) -> dict[str, str]:
        """Every field's last value, to show a refused form again as it was filled in."""
        return dict(self.fields)


async def read_form(request: Request) -> Form:
    """The form of a request, read once. Raises BadInput when it cannot be read or is too much."""
    if not hasattr(request.state, "form"):
        request.state.form = await parsed(request)
    form: Form = request.state.form
    return form


async def parsed(request: Request) -> Form:
    """The form, parsed from the body."""
    if is_typed(request):
        body = await request.body()
        if body.count(b"&") < MAX_FIELDS:
            # The framework's parser, made for files, takes several times as long for a few words.
            pairs = parse_qsl(body.decode("latin-1"), keep_blank_values=True)
            return Form(tuple([(name, checked(name, value)) for name, value in pairs]))
    try:
        data = await request.form(
            max_files=MAX_FILES, max_fields=MAX_FIELDS, max_part_size=MAX_LONG_TEXT
        )
    except HTTPException as error:
        problem = Problem("form_not_readable", "form", {"why": str(error.detail)})
        raise refused(problem) from error
    fields: list[tuple[str, str]] = []
    files: list[tuple[str, SentFile]] = []
    for name, value in data.multi_items():
        if isinstance(value, UploadFile):
            files.append((name, SentFile(value.filename or "", await value.read())))
        else:
            fields.append((name, checked(name, value)))
    await data.close()
    return Form(tuple(fields), tuple(files))


def is_typed(request: Request) -> bool:
    """Whether a short form came, without files."""
    length = request.headers.get("content-length", "")
    short = length.isdecimal() and len(length) < 9 and int(length) <= MOST_TYPED
    return short and request.headers.get("content-type", "").partition(";")[0] == TYPED


Sent = Annotated[Form, Depends(read_form)]


def checked(name: str, value: str) -> str:
    """A field's text with line ends as `\\n`. Raises BadInput when too long or not text."""
    limit = MAX_LONG_TEXT if name in LONG_FIELDS else MAX_TEXT
    if len(value) > limit:
        facts = {"met": len(value), "limit": limit}
        raise refused(Problem("text_too_long", name, facts))
    if control := CONTROL.search(value):
        raise refused(Problem("control_character", name, {"position": control.start() + 1}))
    return value.replace("\r\n", "\n")


def nested(fields: Iterable[tuple[str, str]]) -> dict[str, Value]:
    """Nested data from names with dots: `points.0.x` is `x` of the first of `points`.

    Numbers say the order of a list, not its indices: rows that were left out leave no gap.
    Raises BadInput when a name goes too deep, counts too high or is a text and a group at once.
    """
    tree: dict[str, Value] = {}
    for name, value in fields:
        put(tree, name, value)
    return {key: listed(key, value) for key, value in tree.items()}


def put(tree: dict[str, Value], name: str, value: str) -> None:
    """Place one value in the tree, in which lists are still groups with numbers for keys."""
    *path, last = name.split(".")
    if len(name) > MAX_NAME or len(path) >= MAX_DEPTH or not all([*path, last]):
        raise unusable(name)
    here = tree
    for part in path:
        below = here.setdefault(part, {})
        if not isinstance(below, dict):
            raise unusable(name)
        here = below
    if isinstance(here.get(last), dict):
        raise unusable(name)
    here[last] = value


def listed(name: str, value: Value) -> Value:
    """A group whose keys are all numbers as a list, and so on below it."""
    if not isinstance(value, dict):
        return value
    below = {key: listed(f"{name}.{key}", item) for key, item in value.items()}
    if not all(key.isdecimal() and key.isascii() for key in below):
        return below
    if len(below) > MAX_ITEMS:
        raise refused(Problem("too_many_rows", name, {"met": len(below), "limit": MAX_ITEMS}))
    return [below[key] for key in sorted(below, key=int)]


def unusable(name: str) -> BadInput:
    """A field's name that makes no sense together with the others."""
    return refused(Problem("field_name_unusable", shortened(name), {"met": shortened(name)}))


def refused(problem: Problem) -> BadInput:
    """One thing wrong with one field."""
    return BadInput([problem], problem.code)
