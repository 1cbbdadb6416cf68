"""Searching for garbage: what was loaded is not looked at again, and garbage is still found."""

import gc
import weakref

from app.web.collector import Watch, short_searches


class Loop:
    """Refers to itself: only a search finds that nobody needs it."""

    def __init__(self) -> None:
        self.itself = self


def test_what_was_loaded_before_is_left_out_while_the_program_serves() -> None:
    gc.unfreeze()
    with short_searches():
        assert gc.get_freeze_count() > 10_000
    assert gc.get_freeze_count() == 0


def test_garbage_of_requests_is_still_found() -> None:
    with short_searches():
        seen = weakref.ref(Loop())
        gc.collect(0)
        assert seen() is None


def test_what_survives_a_long_search_is_not_looked_at_again() -> None:
    watch = Watch()
    kept = [[number] for number in range(1000)]
    watch("start", {})
    watch.began -= 1.0
    watch("stop", {})
    try:
        assert gc.get_freeze_count() > len(kept)
    finally:
        gc.unfreeze()


def test_a_short_search_changes_nothing() -> None:
    before, watch = gc.get_freeze_count(), Watch()
    watch("start", {})
    watch("stop", {})
    assert gc.get_freeze_count() == before
