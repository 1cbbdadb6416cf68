"""The shop's server with a watch inside: how late its event loop comes, which processes it has."""

import asyncio
import json
import multiprocessing
import os
import socket
import sys
import time
from pathlib import Path

import uvicorn
from starlette.responses import Response
from starlette.types import ASGIApp, Receive, Scope, Send

from app.benchmarks.shop_server import HERE, SAYS_WHERE
from app.main import create_app
from app.settings import Settings, sqlite_url

READINGS = "/benchmark/readings"
EVERY_S = 0.002
"""So often the watch wants to be called; what comes later than that was kept waiting."""
QUEUE_OF_PROCESSORS = Path("/proc/thread-self/schedstat")
COMMAND = "from app.benchmarks.certificate_server import main; main()"


class Watched:
    """The app as it is served everywhere, and one more address that tells what was seen."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app
        self.latest_s = 0.0
        self.watch: asyncio.Task[None] | None = None

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            self.watch = asyncio.create_task(self.keep_watch())
        if scope["type"] == "http" and scope["path"] == READINGS:
            await Response(self.readings())(scope, receive, send)
            return
        await self.app(scope, receive, send)

    async def keep_watch(self) -> None:
        """Note the longest time that this came too late by the program's own doing."""
        while True:
            start, others = time.perf_counter(), kept_waiting_s()
            await asyncio.sleep(EVERY_S)
            late = time.perf_counter() - start - EVERY_S - (kept_waiting_s() - others)
            self.latest_s = max(self.latest_s, late)

    def readings(self) -> str:
        """What was seen since this was asked last."""
        workers = [child.pid for child in multiprocessing.active_children()]
        told = {"latest_s": self.latest_s, "processes": [os.getpid(), *workers]}
        self.latest_s = 0.0
        return json.dumps(told)


def kept_waiting_s() -> float:
    """How long this thread was ready to go on while others had the processors, since it began.

    Linux tells it; elsewhere nothing is known of it, and a busy machine counts as a slow program.
    """
    try:
        told = QUEUE_OF_PROCESSORS.read_bytes()
    except OSError:
        return 0.0
    return int(told.split()[1]) / 1e9


def main() -> None:
    """Serve the data folder that the command line names, on a free port of this machine."""
    folder = Path(sys.argv[1])
    opened = socket.create_server((HERE, 0))
    opened.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    port = opened.getsockname()[1]
    settings = Settings(data_dir=folder, database_url=sqlite_url(folder), host=HERE, port=port)
    config = uvicorn.Config(
        Watched(create_app(settings)), log_level="error", ws="none", timeout_keep_alive=60
    )
    print(f"{SAYS_WHERE}{settings.address}", flush=True)
    uvicorn.Server(config).run(sockets=[opened])
