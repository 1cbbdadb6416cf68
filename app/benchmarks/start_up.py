"""`jigbook solve` as a process against Python that only imports what the solving stands on."""

import subprocess
import sys
from pathlib import Path

from app import resources
from app.benchmarks.ratio import Ratio
from app.benchmarks.timing import medians
from app.wording.translation import _

MOST = 1.4
IMPORTS = "import numpy, scipy.special, pydantic"
ENTRY = "import sys; from app.cli import main; sys.exit(main(sys.argv[1:]))"


def start_up(rounds: int) -> Ratio:
    """Median of whole processes, files read and result printed, over that of the imports."""
    files = resources.seed_data() / "benchmarks"
    survey, reference = files / "head_survey.json", files / "reference.json"
    solve = [*_jigbook(), "solve", str(survey), "--reference", str(reference)]
    imports = [sys.executable, "-c", IMPORTS]
    seconds = medians(
        {"ours": lambda: run_or_raise(solve), "theirs": lambda: run_or_raise(imports)}, rounds
    )
    return Ratio(_("jigbook solve, as a process"), seconds["ours"], seconds["theirs"], MOST, False)


def _jigbook() -> list[str]:
    """The installed command where there is one, else the same entry by hand."""
    script = Path(sys.executable).with_name("jigbook")
    return [str(script)] if script.is_file() else [sys.executable, "-c", ENTRY]


def run_or_raise(command: list[str]) -> None:
    """Run the command; RuntimeError with what it complained of when it ends badly."""
    done = subprocess.run(command, capture_output=True, check=False)
    if done.returncode != 0:
        raise RuntimeError(done.stderr.decode(errors="replace"))
