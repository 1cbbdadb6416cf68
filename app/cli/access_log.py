"""What the server writes about requests: one line each, without secrets and personal words."""

import logging
import re
import time

CLAIM = re.compile(r"(/claim/)[^/?#\s]+")
QUERY = re.compile(r"\?.*$")

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"discreet": {"()": "app.cli.access_log.Discreet"}},
    "formatters": {
        "line": {
            "()": "app.cli.access_log.OneLine",
            "format": "%(asctime)sZ %(levelname)s %(name)s %(message)s",
            "datefmt": "%Y-%m-%dT%H:%M:%S",
        },
    },
    "handlers": {
        "standard_error": {
            "class": "logging.StreamHandler",
            "stream": "ext://sys.stderr",
            "formatter": "line",
            "filters": ["discreet"],
        },
    },
    "loggers": {
        "uvicorn": {"handlers": [], "propagate": True},
        "uvicorn.access": {"level": "INFO", "propagate": True},
        "uvicorn.error": {"level": "WARNING", "propagate": True},
    },
    "root": {"level": "WARNING", "handlers": ["standard_error"]},
}


def discreet(path: str) -> str:
    """A path as it may be written down.

    A claim link's secret would let every reader of the log in; what stands behind a question
    mark may be the name of a customer that the desk searched for.
    """
    return QUERY.sub("?…", CLAIM.sub(r"\1…", path))


class Discreet(logging.Filter):
    """Takes secrets out of the arguments of every record."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Let the record pass, with its paths made discreet."""
        if isinstance(record.args, tuple):
            record.args = tuple(
                discreet(value) if isinstance(value, str) else value for value in record.args
            )
        return True


class OneLine(logging.Formatter):
    """Times in UTC; what a client sent cannot begin a line of its own."""

    converter = staticmethod(time.gmtime)

    def formatMessage(self, record: logging.LogRecord) -> str:  # noqa: N802
        """The line, with line breaks shown instead of made."""
        return super().formatMessage(record).replace("\r", "\\r").replace("\n", "\\n")
