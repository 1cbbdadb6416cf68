"""Tests of the command line."""

import sys

JIGBOOK = [sys.executable, "-c", "import sys; from app.cli import main; sys.exit(main())"]
"""The command as a process, whether it is installed as a script or not, and without set-up."""
