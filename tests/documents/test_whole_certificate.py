"""A certificate with every characteristic there is: nothing is lost, and page 1 keeps its place."""

import re
import subprocess
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pikepdf
import pytest

from app.documents.certificate import print_certificate
from app.documents.content import CertificateContent
from app.documents.field import FIELD
from app.wording.sections import TITLES
from tests.documents.examples import CONTENT, EARLIER
from tests.documents.whole import longest, whole, wordy
from tests.services.whole_result import HANDLING, LINES

VARIANTS = {
    "report": whole(completion=False),
    "wordy, few required": wordy(CONTENT),
    "longest report": longest(whole(completion=False)),
    "longest completion": longest(whole()),
}


EDGES = ("xMin", "yMin", "xMax", "yMax")


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("whole")
    made = {}
    for name, content in VARIANTS.items():
        made[name] = folder / f"{name}.pdf"
        made[name].write_bytes(print_certificate(content, b"{}"))
    return made


def words_of(file: Path, *options: str) -> str:
    command = ["pdftotext", *options, str(file), "-"]
    return subprocess.run(command, capture_output=True, check=True, text=True).stdout


def boxes_on_page_1(file: Path) -> Iterator[tuple[str, float, float, float, float]]:
    """Each word with left, top, right, bottom, points from the upper left corner."""
    markup = words_of(file, "-bbox", "-l", "1")
    for node in ElementTree.fromstring(markup.replace("xmlns=", "was=")).iter("word"):
        left, top, right, bottom = (
            float(node.get(k, "")) for k in ("xMin", "yMin", "xMax", "yMax")
        )
        yield node.text or "", left, top, right, bottom


@pytest.mark.parametrize("name", VARIANTS)
def test_the_signature_stands_on_page_1_and_nothing_stands_in_it(
    files: dict[str, Path], name: str
) -> None:
    with pikepdf.open(files[name]) as opened:
        page = opened.pages[0]
        (field,) = [one for one in page.Annots if str(one.get("/T", "")) == FIELD]
        x1, y1, x2, y2 = (float(value) for value in field.Rect)
        height = float(page.mediabox[3])
    assert (x2 - x1, y2 - y1) == pytest.approx((214.4, 52.9), abs=0.5)
    assert y1 > 60.0, "above the foot of the page"
    inside = [
        word
        for word, left, top, right, bottom in boxes_on_page_1(files[name])
        if right > x1 and left < x2 and bottom > height - y2 and top < height - y1
    ]
    assert inside == []


def unbroken(words: str) -> str:
    """Without what a narrow column takes or leaves where it breaks a line."""
    return "".join(words.split()).replace("-", "")


@pytest.mark.parametrize("name", VARIANTS)
def test_all_that_an_adjuster_asks_first_stands_on_page_1(
    files: dict[str, Path], name: str
) -> None:
    content = VARIANTS[name]
    lines = (*content.machine, *content.claim, *content.measured, *content.in_force)
    asked = [words for line in lines for words in (line.label, line.value)]
    asked += [content.title, content.number, *content.shop, content.headline, content.how_sure]
    asked += [content.about_reference, content.on_hold, content.on_damage]
    asked += [content.before_headline, content.replaces, content.check_address]
    asked += [content.visual_check.in_brief, content.parts_not_measured, content.not_told_apart]
    read = unbroken(words_of(files[name], "-l", "1"))
    assert [words for words in asked if unbroken(words) not in read] == []


@pytest.mark.parametrize("name", VARIANTS)
def test_the_first_page_lists_what_is_required_or_outside_as_far_as_it_goes(
    files: dict[str, Path], name: str
) -> None:
    """Those that are not within before all others; how many are left is told."""
    content = VARIANTS[name]
    read = unbroken(words_of(files[name], "-l", "1", "-raw"))
    shown = [line for line in content.listed if unbroken(line.name + line.limits) in read]
    left = len(content.listed) - len(shown)
    told = f"{len(shown)} of the {len(content.listed)} that are required or outside"
    assert (unbroken(told) in read) == (left > 0)
    if left and any(line.now.verdict == "within" for line in shown):
        left_out = [line for line in content.listed if line not in shown]
        assert {line.now.verdict for line in left_out} <= {"within", "no_tolerance"}


@pytest.mark.parametrize("name", ["report", "wordy, few required"])
def test_the_finding_stands_in_letters_of_14_points(files: dict[str, Path], name: str) -> None:
    command = ["pdftohtml", "-xml", "-i", "-stdout", "-zoom", "1", "-l", "1", str(files[name])]
    done = subprocess.run(command, capture_output=True, check=True, text=True)
    page = ElementTree.fromstring(done.stdout)
    sizes = {font.get("id"): font.get("size") for font in page.iter("fontspec")}
    lines = {"".join(line.itertext()): sizes[line.get("font")] for line in page.iter("text")}
    start = VARIANTS[name].headline[:30]
    assert next(size for words, size in lines.items() if words.startswith(start)) == "14"


@pytest.mark.parametrize("name", VARIANTS)
def test_no_words_of_page_1_overlap(files: dict[str, Path], name: str) -> None:
    boxes = list(boxes_on_page_1(files[name]))
    assert len(boxes) > 100
    for place, (word, left, top, right, bottom) in enumerate(boxes):
        for other, x1, y1, x2, y2 in boxes[place + 1 :]:
            across = min(right, x2) - max(left, x1)
            down = min(bottom, y2) - max(top, y1)
            # Lines that stand close share the room of their ascenders and descenders.
            smaller = min(bottom - top, y2 - y1)
            assert across < 1.0 or down < 0.45 * smaller, (word, other)


def test_every_characteristic_stands_in_its_section(files: dict[str, Path]) -> None:
    content = VARIANTS["longest completion"]
    assert [section.title for section in content.sections] == list(TITLES.values())
    assert {line.key for line in content.characteristics} == set(LINES)
    printed = " ".join(words_of(files["longest completion"]).split())
    for title in TITLES.values():
        assert title in printed
    for line in content.characteristics:
        for word in f"{line.name} {line.now.deviation} {line.sources}".split():
            assert word in printed


def test_handling_and_run_out_of_the_fork_are_printed(files: dict[str, Path]) -> None:
    printed = " ".join(words_of(files["report"]).split())
    assert "Handling, for information only" in printed
    for line in VARIANTS["report"].handling:
        assert f"{line.value} {line.uncertainty}" in printed
    assert len(VARIANTS["report"].handling) == len(HANDLING)
    assert "The right fork leg is bent by 0.62 mm" in printed
    assert "no finding rests on these figures" in printed


def test_no_number_carries_a_minus_sign(files: dict[str, Path]) -> None:
    for file in files.values():
        assert re.findall(r"(?<![\w-])[-−]\s?\d", words_of(file)) == []


def test_a_change_is_printed_with_its_uncertainty(tmp_path: Path) -> None:
    content = whole()
    lines = tuple(
        replace(line, change="moved 2.7 mm (± 0.3 mm)") for line in content.characteristics
    )
    file = tmp_path / "change.pdf"
    file.write_bytes(print_certificate(replace(content, characteristics=lines[:3]), b"{}"))
    assert " ".join(words_of(file).split()).count("change: moved 2.7 mm (± 0.3 mm)") == 3


def test_content_of_earlier_days_prints_in_one_table(tmp_path: Path) -> None:
    """Its rows have no section, and nothing is said of handling."""
    assert isinstance(EARLIER, CertificateContent)
    assert [section.title for section in EARLIER.sections] == [""]
    file = tmp_path / "earlier.pdf"
    file.write_bytes(print_certificate(EARLIER, b"{}"))
    printed = words_of(file)
    assert "Handling" not in printed
    assert TITLES["head"] not in printed
