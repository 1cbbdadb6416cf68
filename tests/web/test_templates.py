"""The templates themselves: every word translatable, nothing unescaped, nothing unknown."""

import dataclasses
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest
from jinja2 import UndefinedError, nodes

from app import resources
from app.drawings.inks import PAGE
from app.web.rendering import Page
from app.web.site import MODULES
from app.web.templates import environment, spoken

FOLDER = resources.templates()
FILES = sorted(
    path.relative_to(FOLDER).as_posix()
    for path in FOLDER.rglob("*.html")
    if "certificate" not in path.relative_to(FOLDER).parts
)
SPOKEN = ("alt", "title", "placeholder", "aria-label", "data-head")
STRANGERS = ("sign_in", "verify", "take_over", "enrol")
"""What people send who are not signed in."""
TOKENS = ("token(frame)", "version()", "keys(frame, page)")
"""Macros that put the form's token in."""
UNITS = {"X", "Y", "Z", "mm", "k", "±"}
"""Symbols that are the same in every language."""


class Words(HTMLParser):
    """Gathers what a person would read or hear of a piece of markup."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_data(self, data: str) -> None:
        self.found += re.findall(r"[^\W\d_]{2,}|\b[A-Za-z]\b", data)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            if name in SPOKEN and value:
                self.found += re.findall(r"[^\W\d_]{2,}", value)


def source_of(name: str) -> str:
    return (FOLDER / name).read_text()


def untranslated(source: str) -> list[str]:
    """Words that stand in the template outside of gettext."""
    tree = environment().parse(source)
    text = "".join(
        part.data if isinstance(part, nodes.TemplateData) else "\x00"
        for output in tree.find_all(nodes.Output)
        for part in output.nodes
    )
    parser = Words()
    parser.feed(text)
    return [word for word in parser.found if word not in UNITS]


@pytest.mark.parametrize("name", FILES)
def test_every_visible_word_goes_through_gettext(name: str) -> None:
    assert untranslated(source_of(name)) == []


@pytest.mark.parametrize(
    "source",
    [
        "<p>Hello</p>",
        "<input placeholder='Hello'>",
        "<p>{{ _('Hello') }} world</p>",
        "{% if true %}<p>Hello</p>{% endif %}",
    ],
)
def test_a_bare_word_would_be_found(source: str) -> None:
    assert untranslated(source)


@pytest.mark.parametrize("name", FILES)
def test_nothing_is_unescaped_inline_or_from_elsewhere(name: str) -> None:
    source = source_of(name)
    assert "|safe" not in source.replace(" ", "")
    assert "autoescape" not in source
    assert not re.search(r"\sstyle=", source)
    assert not re.search(r"\son[a-z]+=", source)
    assert not re.search(r"<script(?![^>]*src=)", source)
    assert "://" not in source
    assert 'type="number"' not in source


def spelled_out(name: str) -> str:
    """The source, with what it sets aside for several forms put in where they use it."""
    source = source_of(name)
    for piece, said in re.findall(r"{%-? set (\w+) = (.*?) -?%}", source):
        source = source.replace(f"{{{{ {piece} }}}}", f"{{{{ {said} }}}}")
    return source


@pytest.mark.parametrize("name", FILES)
def test_every_form_that_writes_carries_the_token(name: str) -> None:
    for form in re.findall(r'<form method="post".*?</form>', spelled_out(name), re.DOTALL):
        for_strangers = any(f"path('{name}'" in form for name in STRANGERS)
        assert for_strangers or any(one in form for one in TOKENS)


def test_an_unknown_name_is_an_error() -> None:
    with pytest.raises(UndefinedError):
        environment().from_string("{{ page.no_such_field }}").render(page=Page(title="x"))
    with pytest.raises(UndefinedError):
        environment().from_string("{% if nothing %}x{% endif %}").render()


def test_escaping_is_on_whatever_the_name_of_the_template() -> None:
    shown = environment().from_string("{{ text }}").render(text="<script>")
    assert shown == "&lt;script&gt;"


def page_classes() -> Iterator[type[Page]]:
    """Every page of the site."""
    waiting = list(Page.__subclasses__())
    while waiting:
        found = waiting.pop()
        waiting += found.__subclasses__()
        yield found


def test_every_page_has_a_template_and_every_template_a_page() -> None:
    assert MODULES
    used = {page.template for page in page_classes()}
    assert used == {name for name in FILES if name.startswith("pages/")}


@pytest.mark.parametrize("page", list(page_classes()), ids=lambda page: page.__name__)
def test_a_template_names_only_fields_that_its_page_has(page: type[Page]) -> None:
    fields = {field.name for field in dataclasses.fields(page)} | {"on_the_floor", "template"}
    tree = environment().parse(source_of(page.template))
    named = {
        node.attr
        for node in tree.find_all(nodes.Getattr)
        if isinstance(node.node, nodes.Name) and node.node.name == "page"
    }
    assert named <= fields


def test_markup_is_trusted_in_two_places_only() -> None:
    """Our own drawings, and our own texts, into which values are put as text."""
    web = Path(resources.PACKAGE) / "web"
    trusting = {
        path.name for path in web.rglob("*.py") if re.search(r"Markup\([^\"]", path.read_text())
    }
    assert trusting == {"drawn.py", "templates.py"}
    assert str(spoken("%(name)s – done", name="<b>Bo</b>")) == "&lt;b&gt;Bo&lt;/b&gt; – done"


def test_a_dark_page_recolours_every_colour_of_the_drawings() -> None:
    sheet = (resources.static() / "drawings.css").read_text()
    inks = dataclasses.asdict(PAGE).values()
    colours = {ink for ink in inks if ink.startswith("#")}
    assert len(colours) == 6
    for colour in colours:
        assert f'svg [fill="{colour}"]' in sheet
        assert f'svg [stroke="{colour}"]' in sheet
