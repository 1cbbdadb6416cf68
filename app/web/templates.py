"""The pages' own template environment: escaping always on, an unknown name is an error."""

from functools import cache

from jinja2 import Environment, FileSystemLoader, StrictUndefined

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
    made.globals.update(path=path_to, asset=asset)
    return made
