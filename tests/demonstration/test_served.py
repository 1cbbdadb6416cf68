"""The filled demonstration, served by the command itself."""

import os
import re
import shutil
import subprocess
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from app.demonstration import folder
from tests.cli import JIGBOOK
from tests.cli.test_serve import Running
from tests.demonstration.conftest import Filled


@contextmanager
def served(data: Path) -> Iterator[Running]:
    line = [*JIGBOOK, "demo", "--port", "0", "--data", str(data)]
    environment = {k: v for k, v in os.environ.items() if not k.startswith("JIGBOOK_")}
    with subprocess.Popen(
        line, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment
    ) as process:
        try:
            yield Running(process)
        finally:
            process.kill()


def claim_page(server: Running) -> str:
    """The page behind the link that the command told."""
    (address,) = re.findall(r"http://\S+/claim/\S+", server.greeting)
    with urllib.request.urlopen(address, timeout=20) as answer:
        page: str = answer.read().decode()
    return page


def test_the_filled_shop_is_served_and_told(demonstration: Filled, tmp_path: Path) -> None:
    own = tmp_path / "own"
    shutil.copytree(demonstration.folder, own)
    folder.finish(own, demonstration.made)

    with served(own) as server:
        told = re.findall(r"\b\w{4}(?:-\w{4}){3}\b", server.greeting)
        assert told == [one.password for one in demonstration.made.people]
        assert server.get("/sign-in") == 200
        assert demonstration.made.claim_job is not None
        assert demonstration.made.claim_job in claim_page(server)
        code, log = server.stop()

    assert code == 0
    assert "Traceback" not in log
    assert (demonstration.made.claim_token or "none") not in log
