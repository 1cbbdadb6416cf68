"""`jigbook solve` as a process against Python that only imports what the solving stands on."""

import subprocess
import sys

from app import resources
from app.benchmarks.command import jigbook
from app.benchmarks.ratio import Ratio
from app.benchmarks.timing import medians
from app.wording.translation import _

MOST = 1.4
IMPORTS = "import numpy, scipy.special, pydantic"


def start_up(rounds: int) -> Ratio:
    """Median of whole processes, files read and result printed, over that of the imports."""
    files = resources.seed_data() / "benchmarks"
    survey, reference = files / "head_survey.json", files / "reference.json"
    solve = [*jigbook(), "solve", str(survey), "--reference", str(reference)]
    imports = [sys.executable, "-c", IMPORTS]
    seconds = medians(
        {"ours": lambda: run_or_raise(solve), "theirs": lambda: run_or_raise(imports)}, rounds
    )
    return Ratio(_("jigbook solve, as a process"), seconds["ours"], seconds["theirs"], MOST, False)


def run_or_raise(command: list[str]) -> None:
    """Run the command; RuntimeError with what it complained of when it ends badly."""
    done = subprocess.run(command, capture_output=True, check=False)
    if done.returncode != 0:
        raise RuntimeError(done.stderr.decode(errors="replace"))
