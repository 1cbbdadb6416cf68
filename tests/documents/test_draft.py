"""The pages of a draft: nobody can take them for a certificate, and their form is as sound."""

import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pytest
from PIL import Image

from app.documents.certificate import page_of, prepared
from app.documents.draft import print_draft
from app.documents.draft_mark import INK, draft_mark
from app.errors import BadInput
from tests.documents.examples import CONTENT
from tests.documents.photographs import with_photos

TITLE = "Draft: completion certificate"


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    content, pictures = with_photos(replace(CONTENT, title=TITLE, number="no number"), 3)
    file = tmp_path_factory.mktemp("draft") / "draft.pdf"
    file.write_bytes(print_draft(content, pictures))
    return file


@pytest.fixture
def pdf(file: Path) -> Iterator[pikepdf.Pdf]:
    with pikepdf.open(file) as opened:
        yield opened


def test_it_can_neither_be_signed_nor_checked_and_says_so(pdf: pikepdf.Pdf, file: Path) -> None:
    assert "/AcroForm" not in pdf.Root
    assert not any("/Annots" in page for page in pdf.pages)
    assert list(pdf.attachments) == []
    said = subprocess.run(["pdftotext", str(file), "-"], capture_output=True, text=True).stdout
    words = " ".join(said.split())
    assert "Not signed. This is a draft, to be read before signing." in words
    for unwanted in ("SHA-256", "Is it still in force", "How to check", CONTENT.check_address):
        assert unwanted not in words
    assert [str(one.Alt) for one in pdf.objects if is_figure(one) and "Code" in str(one.Alt)] == []


def is_figure(one: Any) -> bool:
    return isinstance(one, pikepdf.Dictionary) and str(one.get("/S", "")) == "/Figure"


def test_the_word_stands_across_each_page(file: Path, pdf: pikepdf.Pdf, tmp_path: Path) -> None:
    """From the lower left to the upper right, under what is printed."""
    command = ["pdftoppm", "-r", "40", "-png", str(file), str(tmp_path / "page")]
    subprocess.run(command, check=True)
    pages = sorted(tmp_path.glob("page*.png"))
    assert len(pages) == len(pdf.pages) > 2
    for page in pages:
        with Image.open(page) as picture:
            dots = np.asarray(picture.convert("RGB")).astype(int)
        ink = [int(INK[place : place + 2], 16) for place in (1, 3, 5)]
        down, right = np.nonzero(np.abs(dots - ink).max(axis=2) <= 2)
        height, width = dots.shape[:2]
        assert right.min() < 0.2 * width < 0.8 * width < right.max()
        assert down.min() < 0.2 * height < 0.8 * height < down.max()
        assert np.corrcoef(down, right)[0, 1] < -0.5, "it rises"


def test_the_word_is_decoration_and_no_content(pdf: pikepdf.Pdf) -> None:
    """ISO 14289-1, 7.1: drawn as an artifact; without a letter, so that no reader speaks it."""
    for page in pdf.pages:
        marked: list[str] = []
        drawn: list[tuple[str, list[str]]] = []
        for step in pikepdf.parse_content_stream(page):
            if str(step.operator) in ("BMC", "BDC"):
                marked.append(str(next(iter(step.operands))))
            elif str(step.operator) == "EMC":
                marked.pop()
            elif str(step.operator) == "Do" and not drawn:
                drawn.append((str(next(iter(step.operands))), list(marked)))
        ((name, around),) = drawn
        assert around == ["/Artifact"]
        mark: Any = page.Resources.XObject[name]
        steps = [str(one.operator) for one in pikepdf.parse_content_stream(mark)]
        assert "Tj" not in steps
        assert "TJ" not in steps
        assert "MCID" not in str(mark.read_bytes())


def test_checkers_find_nothing(file: Path) -> None:
    for command in (
        ["qpdf", "--check", str(file)],
        [sys.executable, "-m", "pdfua", "check", "--format", "json", str(file)],
    ):
        done = subprocess.run(command, capture_output=True, text=True)
        assert done.returncode == 0, done.stdout + done.stderr
    assert '"findings": []' in done.stdout


def test_a_certificate_has_nothing_of_a_draft() -> None:
    page = page_of(prepared(CONTENT, b"{}"), "certificate.html")
    assert "draft" not in page.lower()
    assert "unsigned" not in page


def test_letters_that_cannot_be_printed_refuse_a_draft_too() -> None:
    with pytest.raises(BadInput):
        print_draft(replace(CONTENT, title="\N{SNOWMAN}"))


def test_letters_that_the_font_lacks_are_left_out_of_the_mark() -> None:
    assert draft_mark("A\N{SNOWMAN}B") == draft_mark("AB")
    assert draft_mark("AB").count(b"<path") == 2
    assert draft_mark("") == draft_mark("\N{SNOWMAN}")
