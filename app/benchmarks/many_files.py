"""`jigbook solve` on very many survey files: what one of them costs must not grow with the rest.

All is timed inside one process, so that its start, which ten files would bear a thousand times
more of, is on neither side.
"""

import json
import subprocess
import sys
import tempfile
from pathlib import Path

from app import resources
from app.benchmarks.ratio import Ratio
from app.wording.translation import _

MOST = 1.1
FEW, MANY = 10, 10_000
TIMED_INSIDE = """
import contextlib, io, json, statistics, sys, time
from app.cli import main

folder, reference, few, many, runs = sys.argv[1], sys.argv[2], *map(int, sys.argv[3:])

class Nowhere(io.TextIOBase):
    def write(self, text):
        return len(text)

def seconds(start, count):
    names = [f"{folder}/{number}.json" for number in range(start, start + count)]
    before = time.perf_counter()
    with contextlib.redirect_stdout(Nowhere()):
        code = main(["solve", *names, "--reference", reference, "--json"])
    if code != 0:
        sys.exit(f"jigbook solve: exit code {code}")
    return (time.perf_counter() - before) / count

def several():
    return [seconds(few * (run % (many // few)), few) for run in range(runs)]

several()
found = several()
whole = seconds(0, many)
print(json.dumps([whole, statistics.median(found + several())]))
"""


def many_files(runs: int, many: int = MANY) -> Ratio:
    """Seconds for each of `many` files solved by one command, and for each of ten.

    The median of ten files is of `runs` commands before the long one and as many after it.
    """
    with tempfile.TemporaryDirectory() as folder:
        reference = _write_files(Path(folder), many)
        command = [sys.executable, "-c", TIMED_INSIDE, folder, str(reference)]
        command += [str(number) for number in (FEW, many, runs)]
        done = subprocess.run(command, capture_output=True, check=False)
    if done.returncode != 0:
        raise RuntimeError(done.stderr.decode(errors="replace"))
    ours, theirs = json.loads(done.stdout)
    return Ratio(_("jigbook solve, each of 10,000 files"), ours, theirs, MOST, False)


def _write_files(folder: Path, many: int) -> Path:
    """The invented head survey so many times, each time seen from a little further aside."""
    benchmarks = resources.seed_data() / "benchmarks"
    survey = json.loads((benchmarks / "head_survey.json").read_bytes())
    places = [point["x"] for point in survey["points"]]
    for number in range(many):
        for point, x in zip(survey["points"], places, strict=True):
            point["x"] = round(x + 0.1 * number, 4)
        (folder / f"{number}.json").write_text(json.dumps(survey), encoding="utf-8")
    return benchmarks / "reference.json"
