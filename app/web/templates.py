"""The pages' own template environment: escaping always on, an unknown name is an error."""

from functools import cache

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from app import resources
from app.web.assets import asset
from app.web.routes import path_to
from app.wording.translation import _, counted


@cache
def environment() -> Environment:
    """The environment of all pages. `|safe` is nowhere used: a test reads the templates."""
    made = Environment(
        loader=FileSystemLoader(resources.templates()),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        extensions=["jinja2.ext.i18n"],
    )
    made.install_gettext_callables(_, counted, newstyle=True)  # type: ignore[attr-defined]
    made.globals.update(_=spoken, path=path_to, asset=asset)
    return made


def spoken(text: str, **values: object) -> Markup:
    """A text of a template: our own, so that it is markup, with values put in as text.

    The extension's own `_` does the same by three calls through the template's context, some fifty
    times a page.
    """
    said = Markup(_(text))
    return said % values if "%" in said else said
