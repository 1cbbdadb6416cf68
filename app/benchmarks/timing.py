"""How long things take, measured side by side so that a busy machine slows them alike."""

import gc
import statistics
import time
from collections.abc import Callable, Mapping

Action = Callable[[], object]


def medians(actions: Mapping[str, Action], rounds: int, repeats: int = 1) -> dict[str, float]:
    """Median seconds of one run of each action; every round runs each of them, in turn.

    repeats: how often in a row, so that most runs of short actions follow their like and are not
    timed by what ran before.
    """
    seconds: dict[str, list[float]] = {name: [] for name in actions}
    collecting = gc.isenabled()
    gc.disable()
    try:
        for action in actions.values():
            action()
        for _ in range(rounds):
            for name, action in actions.items():
                seconds[name] += [_seconds(action) for _ in range(repeats)]
    finally:
        if collecting:
            gc.enable()
    return {name: statistics.median(times) for name, times in seconds.items()}


def _seconds(action: Action) -> float:
    start = time.perf_counter()
    action()
    return time.perf_counter() - start
