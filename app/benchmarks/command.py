"""How the program is started as a process of its own."""

import sys
from pathlib import Path

ENTRY = "import sys; from app.cli import main; sys.exit(main(sys.argv[1:]))"


def jigbook() -> list[str]:
    """The installed command where there is one, else the same entry by hand."""
    script = Path(sys.executable).with_name("jigbook")
    return [str(script)] if script.is_file() else [sys.executable, "-c", ENTRY]
