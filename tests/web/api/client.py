"""Asks the app as a program does: JSON in and out, a bearer token, no cookie."""

import asyncio
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import httpx
from fastapi import FastAPI
from sqlalchemy.engine import URL
from starlette.datastructures import State

from app.main import create_app
from app.records.session import Database
from app.services.permissions import Actor, Role
from app.services.tokens import create_token
from app.settings import Settings
from app.web.guard import Guard
from tests.databases import CHEAP, NOW, actor_with, give_back, new_shop, open_at

BASE = "http://127.0.0.1:8417"
ROOT = "/api/v1"


@dataclass
class Api:
    """`as_role` gives one that carries the token of another role, or none."""

    client: httpx.AsyncClient
    loop: asyncio.Runner
    database: Database
    tokens: Mapping[str, str]
    owner: Actor
    state: State
    """What the app was made with."""
    role: str | None = None

    def as_role(self, role: str | None) -> "Api":
        return replace(self, role=role)

    def ask(
        self,
        method: str,
        path: str,
        body: object = None,
        *,
        content: bytes | None = None,
        media_type: str | None = "application/json",
        headers: Mapping[str, str] | None = None,
    ) -> httpx.Response:
        """One request; `body` goes as JSON, `content` goes as it is."""
        sent = dict(headers or {})
        if self.role is not None:
            sent.setdefault("Authorization", f"Bearer {self.tokens[self.role]}")
        if body is not None:
            content = json.dumps(body).encode()
        if content is not None and media_type is not None:
            sent.setdefault("Content-Type", media_type)
        return self.loop.run(
            self.client.request(method, ROOT + path, content=content, headers=sent)
        )

    def get(self, path: str) -> Any:
        """The answer to a reading request that must succeed."""
        answer = self.ask("GET", path)
        assert answer.status_code == 200, answer.text
        return answer.json()

    def made(self, method: str, path: str, body: object, status: int = 201) -> Any:
        """The answer to a writing request that must succeed."""
        answer = self.ask(method, path, body)
        assert answer.status_code == status, answer.text
        return answer.json()


def opened(url: URL, folder: Path) -> Iterator[Api]:
    database = open_at(url)
    owner = actor_with(new_shop(database), *Role)
    tokens = {}
    with database.write() as session:
        for role in Role:
            tokens[str(role)] = create_token(session, owner, f"the {role}", role, NOW).token
    settings = Settings(data_dir=folder, database_url=str(url))
    guarded = create_app(settings, database=database, clock=lambda: NOW, passwords=CHEAP)
    transport = httpx.ASGITransport(guarded, raise_app_exceptions=False)
    assert isinstance(guarded, Guard)
    assert isinstance(guarded.app, FastAPI)
    state = guarded.app.state
    with asyncio.Runner() as loop:
        client = httpx.AsyncClient(transport=transport, base_url=BASE)
        yield Api(client, loop, database, tokens, owner, state)
        loop.run(client.aclose())
    state.issuing.close()
    state.press.close()
    state.darkroom.close()
    give_back(database)
