"""`python -m app`: in a checkout, sets up `.venv` first; then hands over to the command line.

This file must parse on every Python 3, so that one that is too old can say so.
"""

import sys

if sys.version_info < (3, 11):  # noqa: UP036 - this line is the check that older ones meet
    sys.stderr.write(
        "Jigbook met Python " + sys.version.split()[0] + "; it needs Python 3.11 or newer: "
        "install one and start Jigbook with it, for example: python3.11 -m app demo\n"
    )
    sys.exit(2)

if sys.platform == "win32":
    sys.stderr.write(
        "Jigbook met Windows; its set-up needs file locks as Linux has them: "
        "start it in the Windows Subsystem for Linux\n"
    )
    sys.exit(2)

from app import checkout
from app.cli import main

if __name__ == "__main__":
    words = sys.argv[1:]
    if checkout.needs_set_up():
        checkout.set_up_and_start(words)
    sys.exit(main(words))
