"""100,000 trials of the head survey, intervals included, against drawing as many normal deviates.

The deviates are drawn by NumPy's default generator into an array that is kept, the fastest way.
"""

import subprocess
import sys
from pathlib import Path

import numpy as np

from app.benchmarks.engine_speed import head_survey
from app.benchmarks.ratio import Memory, Ratio
from app.benchmarks.timing import medians
from app.chassis import bore_check, set_up
from app.chassis.by_trials import trials_of_survey
from app.chassis.characteristics import characteristics
from app.chassis.evaluate import evaluate
from app.chassis.preparation import prepare
from app.chassis.result import Result
from app.chassis.survey import Options, Reference, Survey
from app.wording.translation import _

TRIALS, MORE_TRIALS = 100_000, 800_000
AT_MOST = 4.0
AT_ONCE = 5_000
EQUAL_TO = 0.01
"""Share by which a standard uncertainty may differ from that of first order: four times chance."""
MOST_MB, MOST_BYTES = 600.0, 10.0
"""Peak of the whole process; growth for each trial and characteristic: 8 bytes are kept, and what
is told of one characteristic at a time needs marks and ends of all its trials (7 to share that)."""


def trials_speed(rounds: int) -> Ratio:
    """Survey and reference in, frozen result by trials out, over the drawing alone."""
    survey, reference = head_survey()
    count = deviates(survey, reference)
    kept = np.empty((count, AT_ONCE))
    generator = np.random.default_rng(1)

    def draw() -> None:
        for _part in range(TRIALS // AT_ONCE):
            generator.standard_normal(out=kept)

    options = Options(monte_carlo=TRIALS, seed=1)
    seconds = medians(
        {"trials": lambda: evaluate(survey, reference, options), "drawing": draw}, rounds
    )
    return Ratio(
        what=_("100,000 trials, drawing their deviates"),
        ours_s=seconds["trials"],
        theirs_s=seconds["drawing"],
        target=AT_MOST,
        at_least=False,
        same_answer=agree(evaluate(survey, reference), evaluate(survey, reference, options)),
    )


def deviates(survey: Survey, reference: Reference) -> int:
    """How many normal deviates one trial takes."""
    checked = set_up.check(bore_check.check(prepare(survey, reference)).chosen)
    return trials_of_survey(checked, characteristics(checked, reference)).deviates


def agree(first: Result, by_trials: Result) -> bool:
    """Whether the trials tell the uncertainties of first order, none left out."""
    if by_trials.monte_carlo is None or any(
        one.unsolved for one in by_trials.monte_carlo.characteristics
    ):
        return False
    pairs = zip(first.characteristics, by_trials.characteristics, strict=True)
    return all(
        abs(other.standard_uncertainty - one.standard_uncertainty)
        <= EQUAL_TO * one.standard_uncertainty
        for one, other in pairs
    )


def trials_memory(_rounds: int) -> Memory:
    """Peak memory of a process of its own, and what more trials add to it."""
    few, many = peak_mb(TRIALS), peak_mb(MORE_TRIALS)
    survey, reference = head_survey()
    result = evaluate(survey, reference, Options(monte_carlo=1_000))
    known = 0 if result.monte_carlo is None else len(result.monte_carlo.characteristics)
    added = (many - few) * 2**20 / ((MORE_TRIALS - TRIALS) * known)
    return Memory(_("memory of 100,000 trials"), few, MOST_MB, added, MOST_BYTES)


def peak_mb(trials: int) -> float:
    """Largest resident set of a process that makes so many trials."""
    command = [sys.executable, "-m", "app.benchmarks.trials_speed", str(trials)]
    done = subprocess.run(command, capture_output=True, check=False, text=True)
    if done.returncode != 0:
        raise RuntimeError(done.stderr)
    return float(done.stdout)


def _peak_of_this_process(trials: int) -> float:
    survey, reference = head_survey()
    evaluate(survey, reference, Options(monte_carlo=trials, seed=1))
    # Not getrusage: what it tells of a child begins with what its parent had in memory.
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return int(status.partition("VmHWM:")[2].split()[0]) / 1024.0


if __name__ == "__main__":
    print(_peak_of_this_process(int(sys.argv[1])))
