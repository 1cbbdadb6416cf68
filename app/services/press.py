"""The press: what certificates are made with, kept for the life of the program."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Press:
    """Where the keys lie and what address is printed. `main.create_app` makes one.

    data_dir: the data folder; keys lie in its `signing` folder. public_url: the address that
    others reach, None when unset (then the QR holds number and data digest).
    """

    data_dir: Path
    public_url: str | None = None

    def close(self) -> None:
        """End the worker process, if one was started."""
        raise NotImplementedError
