"""A connection of the server that does not wait for ever for a request to begin."""

import asyncio

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

HEADERS_S = 10.0
"""Longest time from the first sign of a request to the end of its headers; the body has a limit of
its own in the app's guard."""


class TimedConnection(H11Protocol):
    """uvicorn's own, which would let who never finishes asking keep a place."""

    headers_s = HEADERS_S
    _timer: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Time runs as soon as somebody has connected."""
        super().connection_made(transport)
        self._start()

    def data_received(self, data: bytes) -> None:
        """Time runs while headers are incomplete, however often a piece of them comes."""
        super().data_received(data)
        if self.conn.their_state is h11.IDLE and self.timeout_keep_alive_task is None:
            self._start()
        else:
            self._stop()

    def connection_lost(self, exc: Exception | None) -> None:
        """Nothing is waited for any more."""
        self._stop()
        super().connection_lost(exc)

    def _start(self) -> None:
        if self._timer is None:
            self._timer = self.loop.call_later(self.headers_s, self.transport.close)

    def _stop(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None
