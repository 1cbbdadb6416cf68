"""One point read by two people: counted as a repeat, and never without saying so."""

from collections.abc import Sequence

from app.services.draft_views import DraftPoint


def read_by_others(points: Sequence[DraftPoint], wanted: int, new: int) -> tuple[DraftPoint, ...]:
    """Earlier readings by somebody else of what a point repeats; empty where it repeats nothing.

    points: that stand at its step, in order; wanted: how many the step asks for; new: its id. A
    target repeats the same target; any other point repeats where its step had all it asks for.
    """
    one = next((point for point in points if point.id == new), None)
    if one is None:
        return ()
    before = [point for point in points if point.id < new]
    if one.sent["feature"] == "steer_target":
        same = [point for point in before if point.sent.get("label") == one.sent.get("label")]
    else:
        same = before if len(before) >= wanted else []
    return tuple([point for point in same if point.added_by not in (None, one.added_by)])
