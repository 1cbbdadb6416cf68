"""The layout engine loads its own named assets and nothing else, whatever the page asks for."""

import http.server
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from app.documents.certificate import assets
from app.documents.engine import to_pdf
from app.errors import Unavailable

SECRET = "TOP-SECRET-LINE"
WAYS = {
    "image": '<img src="{url}">',
    "image_set": '<img srcset="{url} 2x" src="{url}">',
    "object": '<object data="{url}"></object>',
    "embed": '<embed src="{url}">',
    "style_sheet": '<link rel="stylesheet" href="{url}">',
    "attachment_link": '<link rel="attachment" href="{url}">',
    "attachment_anchor": '<a rel="attachment" href="{url}">x</a>',
    "import": '<style>@import url("{url}");</style>',
    "font": '<style>@font-face {{ font-family: F; src: url("{url}") }}'
    " p {{ font-family: F }}</style>",
    "font_local": '<style>@font-face {{ font-family: F; src: local("Arial") }}'
    " p {{ font-family: F }}</style>",
    "background": '<p style="background: url({url})">x</p>',
    "list_mark": '<ul style="list-style-image: url({url})"><li>x</ul>',
    "border_image": '<p style="border: 3px solid; border-image: url({url}) 1">x</p>',
    "content": '<style>p::before {{ content: url("{url}") }}</style>',
    "svg_image": '<svg width="9" height="9"><title>t</title><image href="{url}" width="9" '
    'height="9"/></svg>',
    "svg_image_old": '<svg xmlns:xlink="http://www.w3.org/1999/xlink" width="9" height="9">'
    '<title>t</title><image xlink:href="{url}" width="9" height="9"/></svg>',
    "base": '<base href="file:///"><img src="etc/hostname">',
    "data": "<img src=\"data:image/svg+xml,%3Csvg xmlns='http://www.w3.org/2000/svg'/%3E\">",
    "relative": '<img src="../../secret.txt">',
    "asset_climbing": '<img src="asset:///../secret.txt">',
    "asset_unknown": '<img src="asset:///unknown.png">',
    "media_query": '<style>@media print {{ p {{ background: url("{url}") }} }}</style>',
}


@pytest.fixture(scope="module")
def server() -> Iterator[tuple[str, list[str]]]:
    """A server of this test that notes every request."""
    asked: list[str] = []

    class Note(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_error(404)

        def log_message(self, *words: object) -> None:
            """Say nothing."""

    made = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Note)
    thread = threading.Thread(target=made.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{made.server_port}/x.png", asked
    made.shutdown()
    thread.join()
    made.server_close()


def page(body: str) -> str:
    return (
        '<html lang="en"><head><meta charset="utf-8"><title>t</title></head>'
        f"<body><p>x</p>{body}</body></html>"
    )


@pytest.mark.parametrize("way", WAYS)
def test_no_way_reads_a_file(way: str, tmp_path: Path) -> None:
    secret = tmp_path / "secret.svg"
    secret.write_text(f'<svg xmlns="http://www.w3.org/2000/svg"><text>{SECRET}</text></svg>')
    with pytest.raises(Unavailable, match="render_refused"):
        to_pdf(page(WAYS[way].format(url=secret.as_uri())), assets())


@pytest.mark.parametrize("way", [way for way in WAYS if "{url}" in WAYS[way]])
def test_no_way_reaches_the_network(way: str, server: tuple[str, list[str]]) -> None:
    url, asked = server
    with pytest.raises(Unavailable, match="render_refused"):
        to_pdf(page(WAYS[way].format(url=url)), assets())
    assert asked == []


@pytest.mark.parametrize(
    "body",
    [
        '<iframe src="{url}"></iframe>',
        '<svg width="9" height="9"><title>t</title><use href="{url}#a"/></svg>',
        '<?xml-stylesheet href="{url}"?>',
        '<script src="{url}"></script>',
        '<video src="{url}"></video>',
    ],
)
def test_what_the_engine_does_not_know_is_not_loaded_either(
    body: str, tmp_path: Path, server: tuple[str, list[str]]
) -> None:
    url, asked = server
    secret = tmp_path / "secret.txt"
    secret.write_text(SECRET)
    for address in (url, secret.as_uri()):
        try:
            made = to_pdf(page(body.format(url=address)), assets())
        except Unavailable:
            continue
        assert SECRET.encode() not in made
    assert asked == []


@pytest.mark.parametrize(
    "body",
    [
        '<p style="colr: red">x</p>',
        '<img src="asset:///broken.png">',
        '<a href="#nowhere">x</a>',
    ],
)
def test_any_warning_of_the_engine_refuses_the_document(body: str) -> None:
    with pytest.raises(Unavailable, match="render_refused") as caught:
        to_pdf(page(body), {**assets(), "broken.png": b"no picture"})
    assert caught.value.facts["reason"]
