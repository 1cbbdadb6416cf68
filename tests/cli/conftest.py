"""One call of the command line: its words in, exit code and what it printed out."""

from collections.abc import Callable

import pytest

from app.cli import main

Jigbook = Callable[..., tuple[int, str, str]]


@pytest.fixture
def jigbook(capsys: pytest.CaptureFixture[str]) -> Jigbook:
    """Exit code, standard output and standard error of one call."""

    def call(*words: str) -> tuple[int, str, str]:
        code = main(list(words))
        told = capsys.readouterr()
        return code, told.out, told.err

    return call
