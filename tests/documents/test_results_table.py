"""The pages of evidence: their table's structure, its breaks, and how large their letters are."""

import io
import itertools
import re
import subprocess
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pikepdf
import pytest

from app.documents.certificate import page_of, prepared, print_certificate
from app.documents.content import CertificateContent
from tests.documents.examples import CONTENT
from tests.documents.photographs import with_photos
from tests.documents.test_form import elements
from tests.documents.whole import longest, whole

LEAST_LETTER = 7.5 - 0.5 / 3.0
"""Points; as far as it is told."""
ZOOM = 3
"""The largest there is; heights of letters are told as whole numbers of it."""
FOOT = 275.0
"""Millimetres from the upper edge."""
CONTENTS = {
    "both": whole(),
    "alone": whole(completion=False),
    "longest": longest(whole()),
    "few": CONTENT,
}


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("evidence")
    made = {name: folder / f"{name}.pdf" for name in CONTENTS}
    for name, file in made.items():
        file.write_bytes(print_certificate(CONTENTS[name], b"{}"))
    return made


def result_tables(file: Path) -> Iterator[list[Any]]:
    """Rows of the bodies of each piece of the results' table."""
    with pikepdf.open(file) as pdf:
        for table in (one for one in elements(pdf) if str(one.S) == "/Table"):
            bodies = [part for part in table.K if str(part.S) == "/TBody"]
            rows = [row for body in bodies for row in body.K]
            if any(len(row.K) == 1 and str(row.K[0].S) == "/TD" for row in rows):
                yield rows


@pytest.mark.parametrize("name", CONTENTS)
def test_every_row_of_words_is_headed_by_its_characteristic(
    files: dict[str, Path], name: str
) -> None:
    counted = 0
    for rows in result_tables(files[name]):
        for above, row in itertools.pairwise(rows):
            if str(row.K[0].S) == "/TD":
                (cell,) = row.K
                head = above.K[0]
                assert str(head.S) == "/TH"
                assert [str(one) for one in cell.A.Headers] == [str(head.ID)]
                assert int(cell.A.ColSpan) > 1
                counted += 1
    assert counted == len(CONTENTS[name].characteristics)


@pytest.mark.parametrize("name", CONTENTS)
def test_every_figure_is_headed_by_its_row_and_its_column(
    files: dict[str, Path], name: str
) -> None:
    for rows in result_tables(files[name]):
        assert str(rows[0].K[0].S) == "/TH", "no words are parted from their figures"
        for row in rows:
            cells = [cell for cell in row.K if str(cell.S) == "/TD"]
            if len(cells) > 1:
                own = str(row.K[0].ID)
                for cell in cells:
                    headers = [str(one) for one in cell.A.Headers]
                    assert own in headers
                    assert len(headers) > 1


def pages(file: Path) -> list[list[tuple[float, float, str]]]:
    """Of each page the lines below each other: place in mm from the upper edge, height of the
    letters in points, words."""
    command = ["pdftohtml", "-xml", "-i", "-stdout", "-zoom", str(ZOOM), str(file)]
    done = subprocess.run(command, capture_output=True, check=True, text=True)
    document = ElementTree.fromstring(done.stdout)
    sizes = {one.get("id"): float(one.get("size", "")) / ZOOM for one in document.iter("fontspec")}
    return [
        sorted(
            (
                float(line.get("top", "")) / ZOOM / 72.0 * 25.4,
                sizes[line.get("font")],
                "".join(line.itertext()),
            )
            for line in page.iter("text")
        )
        for page in document.iter("page")
    ]


@pytest.mark.parametrize("name", CONTENTS)
def test_the_tables_head_stands_on_each_of_its_pages(files: dict[str, Path], name: str) -> None:
    content = CONTENTS[name]
    names = {line.name for line in content.characteristics}
    with_rows = 0
    for page in pages(files[name])[1:]:
        words = [line.removesuffix("*").strip() for _top, _size, line in page]
        if names.intersection(words):
            with_rows += 1
            head = words.index("Characteristic")
            assert head < min(words.index(one) for one in names.intersection(words))
    assert with_rows == len(list(result_tables(files[name])))


@pytest.mark.parametrize("name", CONTENTS)
def test_no_letter_of_the_evidence_is_too_small_to_read(files: dict[str, Path], name: str) -> None:
    """The first page makes room by other rules; drawings have letters of their own."""
    for page in pages(files[name])[2:]:
        assert [line for line in page if line[1] < LEAST_LETTER] == []


HEADING = 9.5
"""Points, less than which no heading of a section of the evidence is high."""


@pytest.mark.parametrize("name", CONTENTS)
def test_no_heading_stands_last_on_a_page(files: dict[str, Path], name: str) -> None:
    for page in pages(files[name])[1:]:
        inside = [line for line in page if line[0] < FOOT]
        assert inside[-1][1] < HEADING, inside[-1]


def photo_edges(content: CertificateContent, count: int) -> list[tuple[float, float]]:
    """Upper edge and width of each photo, in mm, in reading order."""
    content, pictures = with_photos(content, count)
    captions = {one.caption for one in content.photos}
    with pikepdf.open(io.BytesIO(print_certificate(content, b"{}", pictures))) as pdf:
        figures = [one for one in elements(pdf) if str(one.S) == "/Figure"]
        boxes = [one.A.BBox for one in figures if str(one.Alt) in captions]
        return [
            (float(box[3]) / 72.0 * 25.4, (float(box[2]) - float(box[0])) / 72.0 * 25.4)
            for box in boxes
        ]


@pytest.mark.parametrize(("count", "rows"), [(1, [1]), (2, [2]), (4, [4]), (5, [3, 2])])
def test_photos_stand_three_in_a_row_and_four_in_one(count: int, rows: list[int]) -> None:
    edges = photo_edges(CONTENT, count)
    tops = [round(top, 1) for top, _width in edges]
    found = [tops.count(top) for top in dict.fromkeys(tops)]
    assert found == rows
    assert max(width for _top, width in edges) == pytest.approx(41.0 if count == 4 else 54.6, 0.01)


def test_when_and_by_whom_photos_were_added_is_told_once_where_it_is_the_same_of_all() -> None:
    content, _pictures = with_photos(CONTENT, 3)
    beside = content.photos[0].beside
    page = page_of(prepared(content, b"{}"), "certificate.html")
    assert page.count(beside) == page.count(f"All printed ones: {beside}.") == 1
    other = replace(content.photos[0], beside="added 3 March 2026, 10:00 UTC by Ib")
    mixed = replace(content, photos=(other, *content.photos[1:]))
    page = page_of(prepared(mixed, b"{}"), "certificate.html")
    assert (page.count(beside), page.count(other.beside)) == (2, 1)
    alone = page_of(
        prepared(replace(content, photos=content.photos[:1]), b"{}"), "certificate.html"
    )
    assert alone.count(beside) == 1
    assert "All printed ones" not in alone


def test_what_holds_of_both_measurements_is_marked_and_told_once(tmp_path: Path) -> None:
    alike = "The points scatter no more than their uncertainties say."
    content = whole()
    said = (*content.method, alike), ("It was outside then.", alike)
    file = tmp_path / "both.pdf"
    content = replace(content, method=said[0], before_method=said[1])
    file.write_bytes(print_certificate(content, b"{}"))
    done = subprocess.run(["pdftotext", str(file), "-"], capture_output=True, check=True, text=True)
    text = " ".join(done.stdout.split())
    assert len(re.findall(re.escape(alike), text)) == 1
    assert f"{alike} ‡" in text
    assert "‡ holds in the same words of the earlier measurement." in text
    assert "It was outside then." in text
