"""Python's search for garbage, kept so short that no page waits for it.

It looks at every object that lives, which for a whole program takes a tenth of a second, in which
nothing is answered. What survives a long search is the program itself, loaded once to stay: it is
not looked at again.
"""

import gc
import time
from collections.abc import Iterator
from contextlib import contextmanager

LONG_S = 0.005


class Watch:
    """Sees how long each search takes."""

    def __init__(self) -> None:
        self.began = 0.0

    def __call__(self, phase: str, info: dict[str, int]) -> None:
        if phase == "start":
            self.began = time.perf_counter()
        elif time.perf_counter() - self.began > LONG_S:
            gc.freeze()


@contextmanager
def short_searches() -> Iterator[None]:
    """As long as the program serves."""
    gc.collect()
    gc.freeze()
    watch = Watch()
    gc.callbacks.append(watch)
    try:
        yield
    finally:
        gc.callbacks.remove(watch)
        gc.unfreeze()
