"""Several files of the folder of keys replaced in one step: all of them, or none.

What is to come is written into a folder aside and flushed; renaming that folder to `NEXT` is the
one step. From then on the files are moved into their places, by whoever looks into the folder
next should the program have been ended meanwhile.
"""

import json
import os
import shutil
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path

from app.signing.private_files import sync_folder, write_private

NEXT = "next"
ASIDE = ".next-"
GONE = "gone.json"
"""Names of the files that go, in the folder of what is to come."""


def replace_all(folder: Path, files: Mapping[str, bytes], gone: Iterable[str] = ()) -> None:
    """Put these files into the folder and take those that are gone out of it, in one step."""
    finish(folder)
    for left in folder.glob(f"{ASIDE}*"):
        shutil.rmtree(left)
    aside = Path(tempfile.mkdtemp(prefix=ASIDE, dir=folder))
    for name, content in files.items():
        write_private(aside / name, content)
    write_private(aside / GONE, json.dumps(sorted(gone)).encode())
    os.rename(aside, folder / NEXT)
    sync_folder(folder)
    finish(folder)


def finish(folder: Path) -> None:
    """Move what is to come into its places, as far as an earlier program has not done so.

    Two programs may do so at once: each finds done what the other did.
    """
    ready = folder / NEXT
    if not ready.is_dir():
        return
    try:
        gone = json.loads((ready / GONE).read_bytes())
        for path in sorted(ready.iterdir()):
            if path.name != GONE:
                move(path, folder / path.name)
        for name in gone:
            (folder / name).unlink(missing_ok=True)
        sync_folder(folder)
        (ready / GONE).unlink(missing_ok=True)
    except FileNotFoundError:
        if any(path.name != GONE for path in left_in(ready)):
            raise
    try:
        ready.rmdir()
    except OSError:
        if left_in(ready):
            raise


def move(path: Path, place: Path) -> None:
    """Move a file into its place, unless another program just did so."""
    try:
        os.replace(path, place)
    except FileNotFoundError:
        if path.exists():
            raise


def left_in(ready: Path) -> list[Path]:
    """What is left to be moved."""
    try:
        return list(ready.iterdir())
    except FileNotFoundError:
        return []
