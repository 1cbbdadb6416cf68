"""Threads of this program take short turns at the interpreter.

The event loop stands in line with every page and certificate that is being worked on, each in a
thread of its own. By default each of those may keep it waiting for 5 milliseconds.
"""

import sys
from collections.abc import Iterator
from contextlib import contextmanager

TURN_S = 0.001


@contextmanager
def short_turns() -> Iterator[None]:
    """As long as the program serves."""
    before = sys.getswitchinterval()
    sys.setswitchinterval(TURN_S)
    try:
        yield
    finally:
        sys.setswitchinterval(before)
