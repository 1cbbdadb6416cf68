"""How a command says that it failed: plain sentences on standard error, never a traceback."""

import json
import os
import sys
import traceback

from app.errors import JigbookError
from app.wording.errors import explain, explain_all
from app.wording.translation import _


def report_error(error: JigbookError, *, as_json: bool) -> None:
    """Say what was met, what is needed and what to do; each problem on a line of its own."""
    if as_json:
        tell(error.code, explain(error).sentence, error.feature, as_json=True)
        return
    for problem, explanation in explain_all(error):
        tell(problem.code, explanation.sentence, problem.field, as_json=False)


def report_unexpected(error: Exception, *, as_json: bool) -> None:
    """Say that the program itself failed, and how to see where."""
    if os.environ.get("JIGBOOK_TRACEBACK") == "1":
        traceback.print_exception(error)
        return
    sentence = _(
        "jigbook met something it was not built for ({error}); set JIGBOOK_TRACEBACK=1 "
        "and run it again to see where, for a report to its makers"
    ).format(error=f"{type(error).__name__}: {error}")
    tell("unexpected", sentence, None, as_json=as_json)


def tell(code: str, sentence: str, feature: str | None, *, as_json: bool) -> None:
    """One error on standard error, as a sentence or as JSON."""
    if as_json:
        body = {"error": {"code": code, "message": sentence, "feature": feature}}
        print(json.dumps(body, ensure_ascii=False), file=sys.stderr)
    else:
        print(sentence, file=sys.stderr)
