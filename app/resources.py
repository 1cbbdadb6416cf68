"""Finds the folders that are not code: in the checkout beside `app`, else inside the package.

The wheel carries them under `app/_bundled`; the checkout goes first, so that an editable
install always shows the files as they are.
"""

from pathlib import Path

from app.errors import Unavailable

PACKAGE = Path(__file__).resolve().parent
CHECKOUT = PACKAGE.parent
BUNDLED = PACKAGE / "_bundled"
FOLDERS = ("migrations", "templates", "static", "seed_data")


def is_checkout() -> bool:
    """True when the program runs from its source tree."""
    return (CHECKOUT / "pyproject.toml").is_file() and (CHECKOUT / "migrations").is_dir()


def folder(name: str) -> Path:
    """The path of one of the four folders.

    Raises Unavailable when the installation lacks it.
    """
    if name not in FOLDERS:
        raise KeyError(name)
    path = CHECKOUT / name if is_checkout() else BUNDLED / name
    if not path.is_dir():
        raise Unavailable("installation_incomplete", None, path=str(path))
    return path


def migrations() -> Path:
    """Where the steps of the database's structure lie."""
    return folder("migrations")


def templates() -> Path:
    """Where the templates of pages and certificates lie."""
    return folder("templates")


def static() -> Path:
    """Where the style sheet, scripts and pictures of the pages lie."""
    return folder("static")


def seed_data() -> Path:
    """Where the survey, reference and CSV files to try by hand lie."""
    return folder("seed_data")
