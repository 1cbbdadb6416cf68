"""What breaks PDF/A or PDF/UA without a warning of the layout engine refuses the document."""

import io

import pytest
from PIL import Image

from app.documents.certificate import assets
from app.documents.engine import to_pdf, to_picture
from app.errors import Unavailable

CRISP = 'style="image-rendering: crisp-edges"'


def page(body: str, style: str = "") -> str:
    return (
        '<html lang="en"><head><meta charset="utf-8"><title>t</title>'
        f'<link rel="stylesheet" href="asset:///certificate.css"><style>{style}</style></head>'
        f"<body><h1>x</h1>{body}</body></html>"
    )


def picture(mode: str) -> dict[str, bytes]:
    """The assets with one small picture."""
    content = io.BytesIO()
    Image.new(mode, (8, 8)).save(content, "JPEG")
    return {**assets(), "picture.jpg": content.getvalue()}


@pytest.mark.parametrize(
    ("body", "named"),
    [
        ('<svg width="9" height="9"><rect width="9" height="9"/></svg>', "no words in its place"),
        ("<h3>x</h3>", "heading of level 3 stands under one of level 1"),
        ('<img alt="a" src="asset:///picture.jpg">', "smoothed"),
        ('<p style="font-family: serif">x</p>', "foreign font"),
    ],
)
def test_what_breaks_the_form_is_refused_by_name(body: str, named: str) -> None:
    with pytest.raises(Unavailable, match="render_refused") as caught:
        to_pdf(page(body), picture("RGB"))
    assert named in str(caught.value.facts["reason"])


def test_a_picture_in_ink_is_refused() -> None:
    with pytest.raises(Unavailable) as caught:
        to_pdf(page(f'<img alt="a" {CRISP} src="asset:///picture.jpg">'), picture("CMYK"))
    assert "DeviceCMYK" in str(caught.value.facts["reason"])


@pytest.mark.parametrize("mode", ["RGB", "L"])
def test_a_picture_in_light_or_grey_is_taken(mode: str) -> None:
    body = f'<h2>y</h2><img alt="a" {CRISP} src="asset:///picture.jpg">'
    assert to_pdf(page(body), picture(mode)).startswith(b"%PDF-1.7")


def test_a_picture_of_a_document_takes_no_foreign_font_either() -> None:
    with pytest.raises(Unavailable, match="render_refused"):
        to_picture(page('<p style="font-family: monospace">x</p>'), assets())
