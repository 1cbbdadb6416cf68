"""Rows of points sent to one step: a file, or what was pasted; and what is wrong with them, in few
words however long the file is."""

from app.errors import BadInput, Fact, Problem
from app.schemas.json_text import text_of
from app.schemas.step_rows import parted, step_rows
from app.services.floor_views import StepView
from app.web.forms import Form

MOST_NAMED = 3


def rows_text(form: Form) -> str:
    """The text of a file or of pasted rows; empty where neither came."""
    sent = form.file("rows")
    return text_of(sent.content) if sent else form.text("table")


def readings_in_rows(text: str, step: StepView) -> list[dict[str, object]]:
    """The readings of a text. Raises BadInput with the first problems, and how many there are."""
    try:
        rows = step_rows(text, step.feature or "", None if step.names else step.label)
    except BadInput as error:
        raise in_short(error, text, step) from None
    return [row.reading for row in rows]


def in_short(error: BadInput, text: str, step: StepView) -> BadInput:
    """One sentence for all, and the first three."""
    problems = list(error.problems)
    if len(problems) <= MOST_NAMED:
        return error
    of_others = [one for one in problems if one.code == "row_of_another_step"]
    if of_others:
        met = sum(bool(line.strip()) for line in text.splitlines()) - 1
        others = rows_of_others(text, step.feature or "") or len(of_others)
        facts: dict[str, Fact] = {"met": met, "others": others, "needed": step.feature or ""}
        first = Problem("rows_of_other_steps", "rows", facts)
        problems = of_others
    else:
        first = Problem("rows_wrong", "rows", {"met": len(problems)})
    return BadInput([first, *problems[:MOST_NAMED]], first.code)


def rows_of_others(text: str, feature: str) -> int:
    """How many rows name another feature, where a column says so."""
    lines = [parted(line.strip()) for line in text.splitlines() if line.strip()]
    names = [cell.lower() for cell in lines[0]]
    if "feature" not in names:
        return 0
    at = names.index("feature")
    return sum(len(cells) > at and cells[at] != feature for cells in lines[1:])
