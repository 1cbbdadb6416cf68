"""The server's log holds no secrets, no personal words and no lines that a client made."""

import io
import logging
import logging.config
from collections.abc import Iterator

import pytest

from app.cli.access_log import LOGGING, discreet

ACCESS = '%s - "%s %s HTTP/%s" %d'


@pytest.fixture
def written() -> Iterator[io.StringIO]:
    """What the server's own configuration of logging writes."""
    names = ["", "uvicorn", "uvicorn.access", "uvicorn.error"]
    loggers = [logging.getLogger(name) for name in names]
    before = [(one.level, one.propagate, list(one.handlers)) for one in loggers]
    # As a server that ran in this process before may have left it.
    loggers[1].propagate = loggers[2].propagate = False
    logging.config.dictConfig(LOGGING)
    stream = io.StringIO()
    for handler in logging.getLogger().handlers:
        if isinstance(handler, logging.StreamHandler):
            handler.setStream(stream)
    yield stream
    for one, (level, propagate, handlers) in zip(loggers, before, strict=True):
        one.setLevel(level)
        one.propagate = propagate
        one.handlers[:] = handlers


@pytest.mark.parametrize(
    ("path", "shown"),
    [
        ("/claim/aB3_secret-x", "/claim/…"),
        ("/claim/aB3_secret-x/pdf", "/claim/…/pdf"),
        ("/claim/aB3?next=/claim/zz", "/claim/…?…"),
        ("/?q=Miller", "/?…"),
        ("/jobs/J-2026-0001", "/jobs/J-2026-0001"),
    ],
)
def test_a_path_is_written_without_secrets(path: str, shown: str) -> None:
    assert discreet(path) == shown


def test_a_claim_link_does_not_reach_the_log(written: io.StringIO) -> None:
    logging.getLogger("uvicorn.access").info(
        ACCESS, "127.0.0.1:5", "GET", "/claim/s3cret/pdf", "1.1", 200
    )
    assert "s3cret" not in written.getvalue()
    assert "GET /claim/…/pdf" in written.getvalue()


def test_a_client_cannot_begin_a_line_of_the_log(written: io.StringIO) -> None:
    logging.getLogger("app.anything").warning("met %s", "a\r\n2026-01-01 forged")
    assert len(written.getvalue().splitlines()) == 1
    assert "\\r\\n" in written.getvalue()


def test_the_log_counts_time_in_utc(written: io.StringIO) -> None:
    logging.getLogger("app.anything").warning("now")
    record = logging.LogRecord("a", logging.INFO, "", 0, "m", None, None)
    record.created = 0.0
    formatter = logging.getLogger().handlers[0].formatter
    assert formatter is not None
    assert formatter.format(record).startswith("1970-01-01T00:00:00Z ")
    assert written.getvalue().split()[0].endswith("Z")
