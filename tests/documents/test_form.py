"""A signed certificate has the form of PDF/A-3a and PDF/UA-1, as far as free checks can tell.

All is asked of the file after signing, since signing adds to it. What stands behind each: qpdf for
the file's syntax, pdfua for some rules of PDF/UA, pikepdf for the rest, headings among them: on
those pdfua gives up, since pikepdf reads one kind of object otherwise than it expects.
"""

import itertools
import json
import subprocess
import sys
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pikepdf
import pytest

from app import resources
from app.documents.certificate import DATA_NAME, print_certificate
from app.documents.photos import LONGEST_SIDE
from app.signing.authority import found_authority
from app.signing.keys import open_key
from tests.databases import NOW
from tests.documents.photographs import with_photos
from tests.documents.whole import whole
from tests.signing.pages import signed_with

DATA = json.dumps({"format": "jigbook.certificate/1", "words": "Łukasz"}).encode()
RDF = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}"
PDF_A = "{http://www.aiim.org/pdfa/ns/id/}"
PDF_UA = "{http://www.aiim.org/pdfua/ns/id/}"


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("form")
    key = open_key(found_authority(folder, "Brook Lane Frames", NOW), None, NOW)
    file = folder / "signed.pdf"
    content, pictures = with_photos(whole(), 3)
    file.write_bytes(signed_with(key, NOW, print_certificate(content, DATA, pictures)))
    return file


@pytest.fixture
def pdf(file: Path) -> Iterator[pikepdf.Pdf]:
    with pikepdf.open(file) as opened:
        yield opened


def elements(pdf: pikepdf.Pdf) -> list[Any]:
    """Every element of the structure in reading order."""
    found = []

    def walk(node: Any) -> None:
        if not isinstance(node, pikepdf.Dictionary):
            return
        if "/S" in node:
            found.append(node)
        kids: Any = node.get("/K", pikepdf.Array([]))
        for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
            walk(kid)

    walk(pdf.Root.StructTreeRoot)
    return found


def named(pdf: pikepdf.Pdf, name: str) -> list[Any]:
    return [one for one in elements(pdf) if str(one.S) == name]


def test_qpdf_finds_no_fault_in_the_file(file: Path) -> None:
    done = subprocess.run(["qpdf", "--check", str(file)], capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")
    assert "No syntax or stream encoding errors found" in done.stdout


def test_pdfua_finds_nothing(file: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "pdfua", "check", "--format", "json", str(file)],
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stdout
    assert '"findings": []' in done.stdout


def test_the_metadata_name_both_standards_in_the_one_description_that_counts(
    pdf: pikepdf.Pdf,
) -> None:
    packet = pdf.Root.Metadata.read_bytes()
    assert "/Filter" not in pdf.Root.Metadata or b"xpacket" in packet
    tree = ElementTree.fromstring(packet)
    (rdf,) = tree.iter(f"{RDF}RDF")
    told = {
        name: value for one in rdf.iter(f"{RDF}Description") for name, value in one.attrib.items()
    }
    told |= {one.tag: one.text or "" for one in rdf.iter()}
    assert (told[f"{PDF_A}part"], told[f"{PDF_A}conformance"]) == ("3", "A")
    assert told[f"{PDF_UA}part"] == "1"
    assert b"PDF/UA identification" in packet


def test_the_signed_file_stays_the_version_that_its_standards_are_made_for(
    pdf: pikepdf.Pdf,
) -> None:
    assert pdf.pdf_version == "1.7"
    assert "/Version" not in pdf.Root, "a signature on a curve must not make a PDF 2.0 of it"
    assert set(pdf.Root.Extensions.keys()) == {"/ESIC"}


def test_information_and_metadata_say_the_same(pdf: pikepdf.Pdf) -> None:
    with pdf.open_metadata() as metadata:
        assert metadata["dc:title"] == str(pdf.docinfo["/Title"])
        assert metadata["dc:creator"] == [str(pdf.docinfo["/Author"])]
        assert metadata["pdf:Producer"] == str(pdf.docinfo["/Producer"])
        assert metadata["xmp:CreateDate"] == "2026-03-05T16:20:00+01:00"
        assert str(pdf.docinfo["/CreationDate"]) == "D:20260305162000+01'00"
    assert pdf.Root.ViewerPreferences.DisplayDocTitle


def test_the_file_was_changed_last_when_the_signature_says(pdf: pikepdf.Pdf) -> None:
    """Not when the program's own clock was read, which may be a day later."""
    told = str(pdf.Root.AcroForm.Fields[0].V.M)
    assert told == f"D:{NOW:%Y%m%d%H%M%S}Z"
    assert str(pdf.docinfo["/ModDate"]) == told
    with pdf.open_metadata() as metadata:
        assert datetime.fromisoformat(metadata["xmp:ModifyDate"]) == NOW


def test_colours_have_an_output_intent(pdf: pikepdf.Pdf) -> None:
    (intent,) = pdf.Root.OutputIntents
    assert str(intent.S) == "/GTS_PDFA1"
    assert intent.DestOutputProfile.read_bytes()[36:40] == b"acsp"
    assert int(intent.DestOutputProfile.N) == 3
    assert "/ID" in pdf.trailer
    assert "/Encrypt" not in pdf.trailer


def test_the_data_is_the_one_associated_file_of_the_document(pdf: pikepdf.Pdf) -> None:
    (attached,) = pdf.Root.AF
    assert str(attached.AFRelationship) == "/Data"
    assert str(attached.UF) == str(attached.F) == DATA_NAME
    assert attached.EF.F.read_bytes() == DATA
    assert str(attached.EF.F.Subtype) == "/application/json"
    assert str(attached.EF.F.Params.ModDate) == "D:20260305152000Z", "16:20 at UTC+01:00"
    assert list(pdf.attachments) == [DATA_NAME]


def test_all_fonts_are_embedded_and_our_own_the_signature_box_among_them(pdf: pikepdf.Pdf) -> None:
    fonts = [one for one in pdf.objects if is_type(one, "/Font") and "/FontDescriptor" in one]
    composite = [one for one in pdf.objects if is_type(one, "/Font") and one not in fonts]
    names = {str(one.BaseFont).partition("+")[2] for one in fonts}
    assert names == {"Jigbook-Certificate", "Jigbook-Certificate-Bold"}
    assert all("/FontFile2" in font.FontDescriptor for font in fonts)
    assert all(str(font.Subtype) == "/Type0" and "/ToUnicode" in font for font in composite)
    assert len(fonts) >= 4, "two of the pages, two of the box"


def is_type(one: Any, name: str) -> bool:
    return isinstance(one, pikepdf.Dictionary) and str(one.get("/Type", "")) == name


def test_no_picture_is_smoothed_and_none_is_in_ink(pdf: pikepdf.Pdf) -> None:
    for one in pdf.objects:
        if isinstance(one, pikepdf.Stream) and str(one.get("/Subtype", "")) == "/Image":
            assert not one.get("/Interpolate", False)
            assert str(one.ColorSpace) in ("/DeviceRGB", "/DeviceGray")


def test_every_figure_has_words_and_a_box_on_its_page(pdf: pikepdf.Pdf) -> None:
    figures = named(pdf, "/Figure")
    assert len(figures) > 10
    for figure in figures:
        assert str(figure.Alt)
        left, bottom, right, top = (float(value) for value in figure.A.BBox)
        width, height = (float(value) for value in list(figure.Pg.MediaBox)[2:])
        assert 0 < left < right < width
        assert 0 < bottom < top < height


def test_the_box_of_the_code_is_where_the_code_is_drawn(pdf: pikepdf.Pdf) -> None:
    """To the right of the signature field, as high: in points from the lower edge."""
    (code,) = [one for one in named(pdf, "/Figure") if str(one.Alt).startswith("Code to check")]
    (field,) = pdf.Root.AcroForm.Fields
    left, bottom, right, top = (float(value) for value in code.A.BBox)
    assert top == pytest.approx(float(field.Rect[3]), abs=4.0)
    assert bottom == pytest.approx(float(field.Rect[1]), abs=6.0)
    assert float(field.Rect[2]) < left < float(field.Rect[2]) + 40.0
    assert right - left == pytest.approx(20 / 25.4 * 72, abs=0.5)


def test_every_header_of_a_table_says_what_it_heads(pdf: pikepdf.Pdf) -> None:
    heads = named(pdf, "/TH")
    scopes = [(str(one.P.P.S), str(one.A.Scope)) for one in heads]
    assert {scope for parent, scope in scopes if parent == "/THead"} == {"/Column"}
    assert {scope for parent, scope in scopes if parent == "/TBody"} == {"/Row", "/Column"}
    assert all(str(one.A.O) == "/Table" for one in heads)


def test_every_photo_is_a_figure_whose_words_are_its_caption(pdf: pikepdf.Pdf) -> None:
    content, _pictures = with_photos(whole(), 3)
    spoken = [str(one.Alt) for one in named(pdf, "/Figure")]
    assert [words for words in spoken if words in {one.caption for one in content.photos}] == [
        one.caption for one in content.photos
    ]
    pictures = [
        one
        for one in pdf.objects
        if isinstance(one, pikepdf.Stream) and str(one.get("/Subtype", "")) == "/Image"
    ]
    assert len(pictures) == 3
    for one in pictures:
        assert str(one.Filter) == "/DCTDecode"
        assert max(int(one.Width), int(one.Height)) == LONGEST_SIDE
        assert "/SMask" not in one


def test_headings_leave_out_no_level(pdf: pikepdf.Pdf) -> None:
    levels = [
        int(str(one.S)[2:]) for one in elements(pdf) if str(one.S) in ("/H1", "/H2", "/H3", "/H4")
    ]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))


def test_the_signature_is_a_form_element_with_a_name(pdf: pikepdf.Pdf) -> None:
    (field,) = pdf.Root.AcroForm.Fields
    (form,) = named(pdf, "/Form")
    assert form.K[0].Obj.objgen == field.objgen
    assert str(field.TU) == "Digital signature of the shop"
    numbers = list(pdf.Root.StructTreeRoot.ParentTree.Nums)
    owner = dict(zip(map(int, numbers[::2]), numbers[1::2], strict=True))
    assert owner[int(field.StructParent)].objgen == form.objgen
    assert int(field.F) == 132
    assert float(field.Rect[2]) > float(field.Rect[0])
    assert all(str(page.Tabs) == "/S" for page in pdf.pages)
    assert str(pdf.Root.Lang) == "en"
    assert bool(pdf.Root.MarkInfo.Marked)


def test_running_feet_are_artifacts_and_all_else_has_its_element(pdf: pikepdf.Pdf) -> None:
    reached = {one.objgen for one in elements(pdf)}
    numbers = list(pdf.Root.StructTreeRoot.ParentTree.Nums)
    owner = dict(zip(map(int, numbers[::2]), numbers[1::2], strict=True))
    for page in pdf.pages:
        owners = owner[int(page.StructParents)]
        feet, marked, depth = 0, 0, 0
        for step in pikepdf.parse_content_stream(page):
            operands, operator = list(step.operands), step.operator
            if str(operator) in ("BDC", "BMC"):
                depth += 1
                properties: Any = operands[1] if len(operands) > 1 else {}
                if "/MCID" in properties:
                    marked += 1
                    assert owners[int(properties["/MCID"])].objgen in reached
                elif properties:
                    assert (str(operands[0]), str(properties.Subtype)) == ("/Artifact", "/Footer")
                    feet += 1
            elif str(operator) == "EMC":
                depth -= 1
            elif str(operator) in ("Tj", "TJ", "f", "S", "B", "Do"):
                assert depth >= 1, "neither content nor artifact"
        assert feet >= 2
        assert marked > 10


def test_the_style_sheet_makes_nothing_see_through() -> None:
    """Opacity takes text out of the structure without a word: solid colours do."""
    for sheet in (resources.templates() / "certificate").glob("*"):
        assert "opacity" not in sheet.read_text()
