"""Reading the files that a command line names, within bounds, with a refusal for every failure."""

import sys
from collections.abc import Sequence
from pathlib import Path

from app.errors import Problem
from app.schemas.json_text import LARGEST_FILE_BYTES
from app.schemas.problems import refused, shortened

STANDARD_INPUT = "-"
LONGEST_NAME = 200


def read_bytes(name: str) -> bytes:
    """Return what is in a file, or on standard input for `-`; one byte more than is taken at most.

    Raises BadInput `file_missing`, `file_is_folder`, `file_unreadable`.
    """
    if name == STANDARD_INPUT:
        return sys.stdin.buffer.read(LARGEST_FILE_BYTES + 1)
    try:
        with Path(name).open("rb") as file:
            return file.read(LARGEST_FILE_BYTES + 1)
    except FileNotFoundError:
        raise refused([_problem("file_missing", name)]) from None
    except IsADirectoryError:
        raise refused([_problem("file_is_folder", name)]) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise refused([_problem("file_unreadable", name, reason)]) from None


def require_one_standard_input(names: Sequence[str]) -> None:
    """Raise BadInput when `-` stands for more than one of the files."""
    if list(names).count(STANDARD_INPUT) > 1:
        raise refused([Problem("standard_input_twice", "")])


def _problem(code: str, name: str, reason: str | None = None) -> Problem:
    facts = {"path": shortened(name, LONGEST_NAME), "reason": reason}
    return Problem(code, "", facts)
