"""Rows of points sent to one step: a file, or what was pasted; and what is wrong with them, in few
words however long the file is."""

from app.errors import BadInput, Fact, Problem
from app.schemas.json_text import text_of
from app.schemas.step_rows import PLACES, is_of_a_survey, parted, step_rows
from app.services.floor_views import StepView
from app.web.forms import Form

MOST_NAMED = 3
READING = "readings.0."
NUMBERS = ("x", "y", "z", "u", "offset")
FIELDS = ("table", "rows", *(READING + name for name in NUMBERS))


def fields_of(form: Form) -> tuple[str, ...]:
    """The fields beside which something may be told: of pasted rows it is told beside these, not
    beside the file that was not chosen."""
    return FIELDS if form.file("rows") else tuple(name for name in FIELDS if name != "rows")


def first_field(form: Form) -> str | None:
    """The field that a problem without a field of its own is linked to, if there is one."""
    if form.file("rows"):
        return "rows"
    if form.text("table"):
        return "table"
    return READING + "x" if any(name.startswith(READING) for name, _ in form.fields) else None


def rows_text(form: Form) -> str:
    """The text of a file or of pasted rows; empty where neither came."""
    sent = form.file("rows")
    return text_of(sent.content) if sent else form.text("table")


def readings_in_rows(text: str, step: StepView) -> list[dict[str, object]]:
    """The readings of a text. Raises BadInput with the first problems, and how many there are."""
    # Targets have names of their own; of all else the label is the step's.
    label = None if step.feature == "steer_target" else step.label
    again = (step.station or "").startswith("return")
    try:
        rows = step_rows(text, step.feature or "", label, again=again)
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
        met = len(rows_in(text))
        others = rows_of_others(text, step.feature or "") or len(of_others)
        facts: dict[str, Fact] = {"met": met, "others": others, "needed": step.feature or ""}
        first = Problem("rows_of_other_steps", "rows", facts)
        problems = of_others
    else:
        first = Problem("rows_wrong", "rows", {"met": len(problems)})
    return BadInput([first, *problems[:MOST_NAMED]], first.code)


def rows_of_others(text: str, feature: str) -> int:
    """How many rows name another feature, where a column says so."""
    columns = columns_of(text)
    at = columns.index("feature") if "feature" in columns else 0
    return sum(
        len(cells) > at and cells[at] != feature
        for cells in rows_in(text)
        if columns or is_of_a_survey(cells)
    )


def rows_in(text: str) -> list[list[str]]:
    """The cells of the rows, without a line that names columns."""
    lines = [parted(line.strip()) for line in text.splitlines() if line.strip()]
    return lines[1:] if columns_of(text) else lines


def columns_of(text: str) -> list[str]:
    """The names in the first line; none where it is a row of points."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    names = [cell.lower() for cell in parted(first.strip())]
    return names if set(PLACES) <= set(names) else []
