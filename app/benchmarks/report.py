"""`jigbook benchmarks`: every ratio, its target, met or missed; exit code 1 when one is missed."""

from collections.abc import Callable, Iterable

from app.benchmarks.engine_speed import engine_speed
from app.benchmarks.full_survey import full_survey
from app.benchmarks.many_files import many_files
from app.benchmarks.ratio import Ratio
from app.benchmarks.start_up import start_up
from app.wording.translation import _

ENGINE_ROUNDS, PROCESS_ROUNDS = 31, 15
MET, MISSED = 0, 1


def run(show: Callable[[str], object] = print) -> int:
    """Measure everything and print one table; 0 when every target is met, else 1."""
    show(
        _("Medians of {engine} and {processes} rounds, one after the other in each.").format(
            engine=ENGINE_ROUNDS, processes=PROCESS_ROUNDS
        )
    )
    ratios = []
    measures = (
        (engine_speed, ENGINE_ROUNDS),
        (full_survey, ENGINE_ROUNDS),
        (start_up, PROCESS_ROUNDS),
        (many_files, PROCESS_ROUNDS),
    )
    for measure, rounds in measures:
        ratios.append(measure(rounds))
        show(_line(ratios[-1]))
    return exit_code(ratios)


def exit_code(ratios: Iterable[Ratio]) -> int:
    return MET if all(ratio.met for ratio in ratios) else MISSED


def _line(ratio: Ratio) -> str:
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
