"""The layout engine, imported when the first document is asked for.

Its text library Pango belongs to the system. Where it is missing the program still measures,
solves and records; only documents are refused, with the line that installs it.
"""

import contextlib
import importlib
import io
from types import ModuleType

from app.errors import Unavailable

APT_LINE = "apt-get install --no-install-recommends libpango-1.0-0 libpangoft2-1.0-0"


def engine() -> ModuleType:
    """The module `app.documents.engine`. Raises Unavailable (`pdf_needs_pango`, fact `apt`)."""
    try:
        # Where Pango is missing WeasyPrint prints advice of its own; ours names the line to type.
        with contextlib.redirect_stdout(io.StringIO()):
            return importlib.import_module("app.documents.engine")
    except OSError as error:
        raise Unavailable("pdf_needs_pango", None, apt=APT_LINE) from error
