"""The certificate as a document: what it prints, in which letters, with which data inside."""

import dataclasses
import hashlib
import io
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

import pikepdf
import pytest
import zxingcpp
from markupsafe import Markup
from PIL import Image

from app.documents.certificate import (
    DATA_NAME,
    assets,
    environment_in,
    letters_missing,
    page_of,
    prepared,
    print_certificate,
    signature_box,
)
from app.documents.content import CertificateContent, Line, texts_of
from app.documents.field import FIELD
from app.documents.fonts import texts_shown, unprintable
from app.errors import BadInput, Unavailable
from app.signing.signature import FIELD as SIGNED_FIELD
from app.signing.signature import field_size
from app.wording.digests import in_fours
from tests.documents.examples import CONTENT, EARLIER

DATA = b'{"some":"data"}'


@pytest.fixture(scope="module")
def pdf() -> bytes:
    return print_certificate(CONTENT, DATA)


@pytest.fixture(scope="module")
def text(pdf: bytes, tmp_path_factory: pytest.TempPathFactory) -> str:
    return text_of(pdf, tmp_path_factory.mktemp("pdf") / "certificate.pdf")


def text_of(pdf: bytes, file: Path) -> str:
    """What pdftotext reads, in one line."""
    file.write_bytes(pdf)
    done = subprocess.run(
        ["pdftotext", "-layout", str(file), "-"], capture_output=True, check=True, text=True
    )
    return " ".join(done.stdout.split())


CODES = frozenset(
    {
        "kind", "language", "finding", "issued_at", "outline", "outline_before", "time_zone",
        "phase",
    }
)  # fmt: skip
TOLD_OTHERWISE = frozenset({"finding_sentence", "dates"})
"""Where the first page has answers of its own, these are told in them."""


def certificate_html(content: CertificateContent, data: bytes) -> str:
    return page_of(prepared(content, data), "certificate.html")


@pytest.mark.parametrize(("content", "left"), [(CONTENT, CODES | TOLD_OTHERWISE), (EARLIER, CODES)])
def test_every_text_of_the_content_is_printed(
    content: CertificateContent, left: frozenset[str], tmp_path: Path
) -> None:
    """Texts that wrap are looked for word by word; codes and the drawings' names are not text."""
    text = text_of(print_certificate(content, DATA), tmp_path / "read.pdf")
    unprinted = [
        words
        for place, words in texts_of(content)
        if place not in left
        and words
        not in ("within", "outside", "undecided", "head_twist", "head_reach", "head_offset")
        and not all(word in text for word in in_fours(words).split())
    ]
    assert unprinted == []


def test_number_and_page_x_of_y_stand_on_every_page(pdf: bytes, tmp_path: Path) -> None:
    file = tmp_path / "certificate.pdf"
    file.write_bytes(pdf)
    with pikepdf.open(file) as opened:
        count = len(opened.pages)
    assert count >= 2
    for page in range(1, count + 1):
        command = ["pdftotext", "-f", str(page), "-l", str(page), str(file), "-"]
        words = subprocess.run(command, capture_output=True, check=True, text=True).stdout
        assert CONTENT.number in words
        assert f"page {page} of {count}" in words


def test_the_first_page_answers_the_first_questions(pdf: bytes, tmp_path: Path) -> None:
    file = tmp_path / "certificate.pdf"
    file.write_bytes(pdf)
    command = ["pdftotext", "-layout", "-l", "1", str(file), "-"]
    words = " ".join(
        subprocess.run(command, capture_output=True, check=True, text=True).stdout.split()
    )
    machine = {line.label: line.value for line in CONTENT.machine}
    claim = {line.label: line.value for line in CONTENT.claim}
    for wanted in (
        CONTENT.title,
        CONTENT.finding_words,
        machine["Frame number"],
        claim["Claim number"],
        CONTENT.people.measured_by,
        CONTENT.people.authorised_by,
        CONTENT.parts_not_measured,
        "Seen from the right side",
        "Deviations drawn 10 times.",
    ):
        assert wanted in words


def test_the_steps_for_data_and_code_do_as_they_say(text: str, pdf: bytes, tmp_path: Path) -> None:
    """Its own commands, one after the other, on a file of the certificate's number."""
    (tmp_path / f"{CONTENT.number}.pdf").write_bytes(pdf)
    read = ["pdftotext", f"{CONTENT.number}.pdf", "-"]
    done = subprocess.run(read, cwd=tmp_path, capture_output=True, check=True, text=True)
    words = " ".join(done.stdout.split())
    taken = re.findall("“((?:pdfdetach|sha256sum) [^”]*)”", words)
    assert [command.split()[0] for command in taken] == ["pdfdetach", "sha256sum"]
    said = [
        subprocess.run(command.split(), cwd=tmp_path, capture_output=True, check=True, text=True)
        for command in taken
    ]
    digest = said[1].stdout.split()[0]
    assert digest == hashlib.sha256(DATA).hexdigest()
    assert f"SHA-256 of the attached data {digest}" in text
    assert "the code on page 1, which a telephone's camera reads" in words
    nowhere = page_of(
        prepared(dataclasses.replace(CONTENT, check_address=""), DATA), "evidence.html"
    )
    assert "A telephone's camera reads the code on page 1" in nowhere
    assert f"“pdfdetach -saveall {CONTENT.number}.pdf”" in nowhere


def test_the_data_is_inside_byte_for_byte_and_its_digest_is_printed(pdf: bytes, text: str) -> None:
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        assert opened.attachments[DATA_NAME].get_file().read_bytes() == DATA
    assert hashlib.sha256(DATA).hexdigest() in text


def test_the_signature_field_is_empty_tagged_and_has_a_name(pdf: bytes) -> None:
    assert FIELD == SIGNED_FIELD
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        (field,) = opened.Root.AcroForm.Fields
        assert (str(field.T), str(field.FT), int(field.F)) == (FIELD, "/Sig", 132)
        assert "/V" not in field
        assert "/StructParent" in field
        assert str(field.TU) == "Digital signature of the shop"
        assert opened.Root.MarkInfo.Marked
        assert str(opened.Root.Lang) == "en"
    width, height = field_size(pdf)
    assert width == pytest.approx(76 / 25.4 * 72, abs=1.5)
    assert height == pytest.approx(19 / 25.4 * 72, abs=1.5)


def test_only_our_own_two_fonts_are_used_and_embedded(pdf: bytes) -> None:
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        fonts = {
            str(one.FontName): "/FontFile2" in one or "/FontFile3" in one
            for one in opened.objects
            if isinstance(one, pikepdf.Dictionary) and one.get("/Type") == "/FontDescriptor"
        }
    assert len(fonts) == 2
    assert all(fonts.values())
    assert all("Lato" in name or "Certificate" in name for name in fonts)


def test_the_same_record_gives_the_same_bytes(pdf: bytes) -> None:
    assert print_certificate(CONTENT, DATA) == pdf


def codes_on_page_1(pdf: bytes, folder: Path, dpi: int) -> list[str]:
    """What a reader of such codes finds on the printed page."""
    file = folder / "certificate.pdf"
    file.write_bytes(pdf)
    picture = folder / "page"
    command = ["pdftoppm", "-r", str(dpi), "-gray", "-png", "-singlefile", str(file), str(picture)]
    subprocess.run(command, check=True)
    with Image.open(picture.with_suffix(".png")) as page:
        return [found.text for found in zxingcpp.read_barcodes(page)]


@pytest.mark.parametrize("dpi", [110, 200])
def test_the_code_on_the_page_reads_as_the_address_to_check_at(
    pdf: bytes, tmp_path: Path, dpi: int
) -> None:
    assert codes_on_page_1(pdf, tmp_path, dpi) == [CONTENT.check_address]


def test_without_an_address_the_code_reads_as_number_and_digest(tmp_path: Path) -> None:
    pdf = print_certificate(dataclasses.replace(CONTENT, check_address=""), DATA)
    digest = hashlib.sha256(DATA).hexdigest()
    assert codes_on_page_1(pdf, tmp_path, 200) == [f"{CONTENT.number} sha256:{digest}"]


def test_every_page_has_the_code_or_the_digest_to_check_by() -> None:
    unnamed = dataclasses.replace(CONTENT, check_address="")
    with_address = certificate_html(CONTENT, DATA)
    without = certificate_html(unnamed, DATA)
    assert f"Code to check this certificate: {CONTENT.check_address}" in with_address
    digest = hashlib.sha256(DATA).hexdigest()
    assert f"Code to check this certificate: {CONTENT.number} sha256:{digest}" in without
    assert "https:" not in without


def test_what_a_person_wrote_is_text_and_never_markup() -> None:
    line = Line("Plate", '<script src="file:///etc/passwd">&lt;')
    html = certificate_html(dataclasses.replace(CONTENT, machine=(line,)), DATA)
    assert "<script" not in html
    assert "&lt;script src=&#34;file:///etc/passwd&#34;&gt;&amp;lt;" in html


def test_characters_that_the_letters_lack_are_refused_by_name_and_place() -> None:
    strange = dataclasses.replace(
        CONTENT, machine=(Line("Plate", "\u5927\u962a"),), shop=("Shop \U0001f3cd",)
    )
    problems = {problem.field: problem.facts["characters"] for problem in letters_missing(strange)}
    assert problems == {
        "shop": ("U+1F3CD RACING MOTORCYCLE",),
        "machine": ("U+5927 CJK UNIFIED IDEOGRAPH-5927", "U+962A CJK UNIFIED IDEOGRAPH-962A"),
    }
    with pytest.raises(BadInput):
        print_certificate(strange, DATA)


def test_letters_of_the_signature_box_are_looked_at_beforehand() -> None:
    (problem,) = letters_missing(CONTENT, ("Ansel Brook", "Brook \u2603"))
    assert (problem.field, problem.facts["characters"]) == ("signature_box", ("U+2603 SNOWMAN",))
    with pytest.raises(BadInput, match="document"):
        signature_box(("Brook \u2603",), 200.0, 60.0)


@pytest.fixture
def other_templates() -> Iterator[None]:
    """What the templates call may be put in place: they are set up anew, before and after."""
    environment_in.cache_clear()
    yield
    environment_in.cache_clear()


def test_letters_of_labels_and_drawings_are_looked_at(
    monkeypatch: pytest.MonkeyPatch, other_templates: None
) -> None:
    """A translation may bring what the font lacks, and a drawing has words of its own."""
    drawn = "<svg><title>\u2603</title><text>\u2713 &#9744;</text></svg><style>\u2604</style>"
    assert unprintable(texts_shown(drawn)) == ("U+2610 BALLOT BOX", "U+2713 CHECK MARK")
    monkeypatch.setattr("app.documents.certificate.drawn_bar", lambda bar, title: Markup(drawn))
    with pytest.raises(BadInput) as caught:
        print_certificate(CONTENT, DATA)
    assert caught.value.problems[0].facts["characters"] == (
        "U+2610 BALLOT BOX",
        "U+2713 CHECK MARK",
    )


def test_the_style_sheet_draws_only_what_can_be_printed() -> None:
    assert unprintable([assets()["certificate.css"].decode()]) == ()


@pytest.mark.parametrize(
    "words", ["Åse Łukasz Ñandú Ştefan", "Καλημέρα", "Привет", "± ≤ ° µ \u202f"]
)
def test_letters_of_europe_can_be_printed(words: str) -> None:
    assert unprintable([words]) == ()


def test_control_characters_are_named() -> None:
    assert unprintable(["a\x07b\u200b"])[0] == "U+0007 without a name"


def test_a_signature_box_fills_its_field() -> None:
    box = signature_box(("One", "Two"), 200.0, 60.0)
    with pikepdf.open(io.BytesIO(box)) as opened:
        (page,) = opened.pages
        assert [float(value) for value in page.mediabox] == pytest.approx([0, 0, 200, 60], abs=0.1)


@pytest.mark.parametrize("length", [20, 64, 120, 300])
def test_nothing_of_a_signature_box_is_cut_off(length: int, tmp_path: Path) -> None:
    """The longest name of a person takes 300 characters, that of a certificate 64."""
    person = " ".join(["Ansel-Brook"] * 30)[:length]
    common_name = " ".join(["Milltown"] * 30)[:64]
    key, moment = "Signed with the shop's key", "5 March 2026, 16:20 UTC+01:00"
    authorised = f"{moment}, authorised by {person}"
    digest = f"Key's certificate, SHA-256 {'ab' * 12} …"
    file = tmp_path / "box.pdf"
    file.write_bytes(signature_box((key, authorised, common_name, digest), 214.4, 52.9))
    markup = subprocess.run(
        ["pdftotext", "-bbox", str(file), "-"], capture_output=True, check=True, text=True
    ).stdout
    words = list(ElementTree.fromstring(markup.replace("xmlns=", "was=")).iter("word"))
    read = "".join(word.text or "" for word in words)
    assert read == "".join((key, authorised, common_name, digest)).replace(" ", "")
    for word in words:
        assert 0 < float(word.get("yMin", "")) < float(word.get("yMax", "")) < 53.0
        assert float(word.get("xMax", "")) < 214.4


def test_what_can_never_fit_a_signature_box_is_refused() -> None:
    with pytest.raises(Unavailable, match="render_refused"):
        signature_box(("Brook " * 400,), 214.4, 52.9)


def test_without_pango_documents_are_refused_with_the_line_that_installs_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def missing(name: str) -> None:
        raise OSError("cannot load library 'libgobject-2.0-0'")

    monkeypatch.setattr("app.documents.pango.importlib.import_module", missing)
    with pytest.raises(Unavailable, match="pdf_needs_pango") as caught:
        print_certificate(CONTENT, DATA)
    assert str(caught.value.facts["apt"]).startswith("apt-get install")


def test_style_sheet_and_fonts_are_all_that_a_document_may_load() -> None:
    assert sorted(assets()) == ["bold.ttf", "certificate.css", "regular.ttf"]


def test_a_certificate_without_anything_optional_can_be_printed() -> None:
    bare: CertificateContent = dataclasses.replace(
        CONTENT,
        characteristics=(),
        outline={"measured": [], "reference": [], "levelled": False},
        outline_before=None,
        machine=(),
        claim=(),
        check_address="",
        visual_check=dataclasses.replace(CONTENT.visual_check, seen=(), holds=()),
    )
    assert print_certificate(bare, DATA).startswith(b"%PDF")
