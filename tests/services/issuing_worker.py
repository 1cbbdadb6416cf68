"""What a worker process runs in tests of the queue: ends, hangs, or makes a file at once."""

import os
import signal
import time
from pathlib import Path

from app.services.order import Made, Order

ENDS, HANGS = "ends", "hangs"


def make(order: Order) -> Made:
    """A file, unless the environment names one that says otherwise for this once."""
    told = Path(os.environ.get("ISSUING_WORKER", ""))
    if told.is_file():
        word = told.read_text()
        if word == HANGS:
            time.sleep(60)
        told.unlink()
        os.kill(os.getpid(), signal.SIGKILL)
    return Made(b"%PDF " + order.data, None)
