"""Puts the parts together: settings in, the whole app with its guard out."""

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import UTC, datetime

import anyio.to_thread
from fastapi import FastAPI
from starlette.types import ASGIApp

from app.records.session import POOL_SIZE, Database
from app.services.claim_access import forget_at_start
from app.services.darkroom import Darkroom
from app.services.issuing import heal
from app.services.issuing_queue import IssuingQueue
from app.services.passwords import PASSWORDS, Passwords
from app.services.press import Press
from app.settings import Settings
from app.web import failures, large_bodies, site
from app.web.body import Limits
from app.web.collector import short_searches
from app.web.guard import Guard
from app.web.origins import configured_origins
from app.web.short_turns import short_turns


def utc_now() -> datetime:
    """The moment of a request."""
    return datetime.now(UTC)


def create_app(
    settings: Settings,
    *,
    database: Database | None = None,
    clock: Callable[[], datetime] = utc_now,
    passwords: Passwords = PASSWORDS,
) -> ASGIApp:
    """The app behind its guard. The database must be migrated and have its first person.

    `database`, `clock` and `passwords` are given by tests.
    """
    app = FastAPI(
        title="Jigbook",
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        redirect_slashes=False,
        lifespan=life,
    )
    app.state.settings = settings
    app.state.database = database or Database(settings.database_url)
    app.state.clock = clock
    app.state.passwords = passwords
    app.state.press = Press(settings.data_dir, settings.public_url)
    app.state.issuing = IssuingQueue(app.state.database, app.state.press, clock)
    app.state.darkroom = Darkroom()
    failures.install(app)
    for router in site.ROUTERS:
        # The very routes: including the router would build each anew, and match each twice.
        app.router.routes.extend(router.routes)
    refuse, admit = failures.refusing(app), large_bodies.admitting(app)
    return Guard(app, configured_origins(settings), Limits(), refuse, admit)


@asynccontextmanager
async def life(app: FastAPI) -> AsyncIterator[None]:
    """As many requests at once as the database has connections: none waits for one in vain."""
    anyio.to_thread.current_default_thread_limiter().total_tokens = POOL_SIZE
    # What a crash left half issued is closed or gone on with before anybody asks for it.
    heal(app.state.database, app.state.clock())
    forget_at_start(app.state.database, app.state.clock())
    app.state.issuing.start()
    with short_searches(), short_turns():
        yield
    app.state.issuing.close()
    app.state.press.close()
    app.state.darkroom.close()
    app.state.database.close()
