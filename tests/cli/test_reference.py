"""`jigbook reference`: surveys of machines in order in, a reference and its report out."""

import json
from functools import partial
from pathlib import Path

import pytest

from app import resources
from app.schemas.reading import read_reference
from tests.cli.conftest import Jigbook
from tests.services.machines import survey

BASE = str(resources.seed_data() / "reference.json")


@pytest.fixture
def run(jigbook: Jigbook) -> Jigbook:
    return partial(jigbook, "reference")


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """Five machines; the last one is bent."""
    folder = tmp_path_factory.mktemp("machines")
    made = []
    for seed in range(5):
        file = folder / f"machine-{seed}.json"
        measured = survey(seed, twist=2.0 if seed == 4 else None)
        file.write_text(measured.model_dump_json(exclude_unset=True))
        made.append(str(file))
    return made


def test_the_table_shows_mean_limits_and_the_outlier(run: Jigbook, files: list[str]) -> None:
    code, out, err = run(*files, "--base", BASE)
    assert (code, err) == (0, "")
    assert "outlier: machine-4.json" in out
    assert "Only 5 machines" in out
    assert "not what the maker allows" in out
    assert "--output FILE keeps the reference" in out


def test_the_reference_is_written_and_read_again(
    run: Jigbook, files: list[str], tmp_path: Path
) -> None:
    target = tmp_path / "made.json"
    code, out, _err = run(
        *files, "--base", BASE, "--leave-out", f"{files[4]}=bent, as its owner says",
        "--output", str(target), "--model", "Example 900", "--content", "0,95",
    )  # fmt: skip
    assert code == 0
    assert f"reference written to {target}" in out
    assert "left out: machine-4.json (bent, as its owner says)" in out
    made = read_reference(target.read_bytes())
    assert made.machine.model == "Example 900"
    assert made.provenance is not None
    assert "4 machines" in (made.provenance.detail or "")
    assert "95 % of all such machines at 95 %" in (made.provenance.detail or "")
    assert "machine-4.json (bent, as its owner says)" in (made.provenance.detail or "")

    code, _out, err = run(*files, "--output", str(target))
    assert code == 2
    assert "already" in err


def test_json_holds_reference_and_report(run: Jigbook, files: list[str]) -> None:
    code, out, _err = run(*files, "--json")
    assert code == 0
    made = json.loads(out)
    assert made["reference"]["format"] == "jigbook.reference/1"
    assert made["report"]["format"] == "jigbook.reference_report/1"
    assert {one["name"] for one in made["report"]["machines"]} == {
        Path(file).name for file in files
    }


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--leave-out", "nobody.json=bent"), "is not among the surveys"),
        (("--leave-out", "{file}"), "without a reason"),
        (("--content", "1"), "content"),
        (("--confidence", "high"), "--confidence"),
        (("--base", "nowhere.json"), "there is no file"),
        (("--output", "/nowhere/at/all.json"), "cannot be written"),
    ],
)
def test_what_cannot_be_done_is_said(
    run: Jigbook, files: list[str], words: tuple[str, ...], said: str
) -> None:
    code, _out, err = run(*files, *(word.format(file=files[0]) for word in words))
    assert code == 2
    assert said in err
    assert "Traceback" not in err


def test_two_machines_are_too_few(run: Jigbook, files: list[str]) -> None:
    code, _out, err = run(*files[:2], "--json")
    assert code == 2
    assert json.loads(err)["error"]["code"] == "too_few_machines"


def test_files_of_one_name_are_numbered(run: Jigbook, files: list[str], tmp_path: Path) -> None:
    twin = tmp_path / Path(files[0]).name
    twin.write_text(survey(77).model_dump_json(exclude_unset=True))
    code, out, _err = run(*files[:3], str(twin), "--json")
    assert code == 0
    assert [one["name"] for one in json.loads(out)["report"]["machines"]] == [
        "1. machine-0.json", "2. machine-1.json", "3. machine-2.json", "4. machine-0.json",
    ]  # fmt: skip
