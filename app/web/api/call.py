"""One call of the API: who asks, what was sent, and an answer that may be asked for twice."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Any, TypeVar

from fastapi import Depends, Request
from pydantic import BaseModel
from pydantic_core import to_jsonable_python
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.errors import BadInput, JigbookError, Problem
from app.records.session import Database
from app.schemas.json_text import read_json, text_of
from app.schemas.problems import piece
from app.schemas.reading import checked
from app.services import idempotency
from app.services.idempotency import StoredAnswer
from app.services.permissions import Actor

Model = TypeVar("Model", bound=BaseModel)
Found = TypeVar("Found")

JSON = "application/json"
CSV = "text/csv"
PDF = "application/pdf"
ZIP = "application/zip"
MESSAGE = "message/rfc822"
KEY = "Idempotency-Key"


@dataclass(frozen=True, slots=True)
class Call:
    """Made for each request, after the door has let it in."""

    request: Request
    database: Database
    now: datetime
    body: bytes

    @property
    def actor(self) -> Actor:
        actor: Actor = self.request.state.actor
        return actor

    @property
    def address(self) -> str:
        client = self.request.client
        return client.host if client else ""

    def sent(self, model: type[Model]) -> Model:
        """The body as `model`. Raises BadInput."""
        return checked(model, self.document())

    def document(self) -> object:
        """The body as decoded JSON. Raises BadInput."""
        return read_json(self.text(JSON))

    def text(self, *media_types: str) -> str:
        """The body as text, when it is declared as one of these media types."""
        self.require_media_type(*media_types)
        return text_of(self.body)

    def require_media_type(self, *media_types: str) -> str:
        """What the body is declared as. Raises BadInput `wrong_media_type`."""
        stated = self.request.headers.get("content-type", "").split(";")[0].strip().lower()
        if stated not in media_types:
            facts = {"met": piece(stated), "needed": ", ".join(media_types)}
            raise BadInput([Problem("wrong_media_type", "Content-Type", facts)], "wrong_media_type")
        return stated

    def read(self, work: Callable[[Session], Found]) -> Found:
        """Do `work` in a session that only reads."""
        with self.database.read() as session:
            return work(session)

    def answered(self) -> Response | None:
        """The first answer to this request under its key; None when there is none."""
        if self.key is None:
            return None
        with self.database.read() as session:
            stored = idempotency.recall(session, self.actor, self.key, self._hash(), self.now)
        return None if stored is None else self._repeat(stored)

    def write(self, work: Callable[[Session], object], status: int = 200) -> Response:
        """Do `work` in one transaction, once for each key, and answer with what it returns."""
        with self.database.write() as session:
            if self.key is not None:
                key, request = self.key, self._hash()
                stored = idempotency.recall(session, self.actor, key, request, self.now)
                if stored is not None:
                    return self._repeat(stored)
            answer = StoredAnswer(status, as_json(work(session)))
            if self.key is not None:
                idempotency.remember(session, self.actor, self.key, self._hash(), answer, self.now)
        return self._repeat(answer)

    def write_in_units(self, work: Callable[[], object], status: int = 200) -> Response:
        """The same for work that opens several transactions of its own."""
        if self.key is None:
            return answer(work(), status)
        with self.database.write() as session:
            stored = idempotency.recall(session, self.actor, self.key, self._hash(), self.now)
            if stored is not None:
                return self._repeat(stored)
            idempotency.begin(session, self.actor, self.key, self._hash(), self.now)
        try:
            made = StoredAnswer(status, as_json(work()))
        except JigbookError:
            with self.database.write() as session:
                idempotency.give_up(session, self.actor, self.key)
            raise
        with self.database.write() as session:
            idempotency.remember(session, self.actor, self.key, self._hash(), made, self.now)
        return self._repeat(made)

    @property
    def key(self) -> str | None:
        return self.request.headers.get(KEY)

    def _hash(self) -> str:
        url = self.request.url
        return idempotency.request_hash(self.request.method, f"{url.path}?{url.query}", self.body)

    def _repeat(self, stored: StoredAnswer) -> Response:
        return Response(stored.answer, stored.status, media_type=JSON)


def answer(value: object, status: int = 200) -> Response:
    """A value of ours as JSON: dataclasses, models, times and plain values."""
    return Response(as_json(value), status, media_type=JSON)


def as_json(value: object) -> str:
    """The JSON of a value; a number that JSON cannot carry is a mistake of the program."""
    plain: Any = to_jsonable_python(value)
    return json.dumps(plain, ensure_ascii=False, allow_nan=False)


async def calling(request: Request) -> Call:
    """The call of this request; the guard has bounded and read its body."""
    state = request.app.state
    return Call(request, state.database, state.clock(), await request.body())


Calling = Annotated[Call, Depends(calling)]
