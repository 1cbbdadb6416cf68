"""`jigbook benchmarks`: every ratio, its target, met or missed; exit code 1 when one is missed."""

from collections.abc import Callable, Iterable

from app.benchmarks.certificate_kills import certificates_through_kills
from app.benchmarks.certificate_queue import certificates_queued
from app.benchmarks.certificate_speed import certificate_speed, short_certificate_speed
from app.benchmarks.engine_speed import engine_speed
from app.benchmarks.floor_speed import floor_speed
from app.benchmarks.full_survey import full_survey
from app.benchmarks.many_files import many_files
from app.benchmarks.ratio import Bound, Memory, Ratio
from app.benchmarks.start_up import start_up
from app.benchmarks.trials_speed import trials_memory, trials_speed
from app.wording.translation import _

ENGINE_ROUNDS, PROCESS_ROUNDS, FLOOR_ROUNDS, CERTIFICATE_ROUNDS = 31, 15, 5, 7
Figure = Ratio | Memory | Bound
MET, MISSED = 0, 1


def run(show: Callable[[str], object] = print, *, long: bool = False) -> int:
    """Measure everything and print one table; 0 when every target is met, else 1.

    long: also what takes many minutes.
    """
    show(
        _("Medians of {engine} and {processes} rounds, one after the other in each.").format(
            engine=ENGINE_ROUNDS, processes=PROCESS_ROUNDS
        )
    )
    found: list[Figure] = []
    measures: tuple[tuple[Callable[[int], Figure], int], ...] = (
        (engine_speed, ENGINE_ROUNDS),
        (full_survey, ENGINE_ROUNDS),
        (start_up, PROCESS_ROUNDS),
        (many_files, PROCESS_ROUNDS),
        (trials_speed, PROCESS_ROUNDS),
        (trials_memory, 1),
        (certificate_speed, CERTIFICATE_ROUNDS),
        (short_certificate_speed, CERTIFICATE_ROUNDS),
    )
    for measure, rounds in measures:
        found.append(measure(rounds))
        show(_line(found[-1]))
    groups: list[Callable[[], Iterable[Figure]]] = [
        lambda: floor_speed(FLOOR_ROUNDS),
        certificates_queued,
        *([certificates_through_kills] if long else []),
    ]
    for group in groups:
        for figure in group():
            found.append(figure)
            show(_line(figure))
    return exit_code(found)


def exit_code(found: Iterable[Figure]) -> int:
    return MET if all(one.met for one in found) else MISSED


def _line(found: Figure) -> str:
    if isinstance(found, Bound):
        return _line_of_bound(found)
    return _line_of_memory(found) if isinstance(found, Memory) else _line_of_ratio(found)


def _line_of_bound(bound: Bound) -> str:
    """What was measured, the figure, the largest that it may be, and met or missed."""
    words = [
        f"{bound.what:<38}",
        f"{bound.value:8.2f} {bound.unit:<2}",
        _("at most {target}").format(target=f"{bound.most:g} {bound.unit}".strip()),
        _("met") if bound.met else _("missed"),
    ]
    return "  ".join(words)


def _line_of_memory(memory: Memory) -> str:
    """The peak and its bound, what each trial and characteristic adds, and met or missed."""
    added = _("{bytes:.1f} bytes a trial and characteristic, at most {most:.0f}")
    words = [
        f"{memory.what:<38}",
        f"{memory.peak_mb:8.0f} MB",
        _("under {most:.0f} MB").format(most=memory.most_mb),
        added.format(bytes=memory.bytes_each, most=memory.most_bytes),
        _("met") if memory.met else _("missed"),
    ]
    return "  ".join(words)


def _line_of_ratio(ratio: Ratio) -> str:
    """What was measured, both medians, the ratio, its target, and met or missed."""
    bound = _("at least {target}") if ratio.at_least else _("at most {target}")
    words = [
        f"{ratio.what:<38}",
        f"{1e3 * ratio.ours_s:8.2f} ms",
        f"{1e3 * ratio.theirs_s:8.2f} ms",
        f"{ratio.value:6.2f}",
        f"{bound.format(target=ratio.target):<14}",
        _("met") if ratio.met else _("missed"),
    ]
    if not ratio.same_answer:
        words.append(_("(the answers differ)"))
    return "  ".join(words)
