"""A form as a page shows it: what was filled in, and what is wrong with it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from app.errors import JigbookError, Problem
from app.web.problems import problems_of
from app.wording import form_errors
from app.wording.errors import explain, without_unit
from app.wording.translation import _

NOTHING: Mapping[str, str] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Option:
    """One choice of a list."""

    value: str
    label: str
    chosen: bool = False


@dataclass(frozen=True, slots=True)
class FieldError:
    """What is wrong, said in full, and the field it is linked to."""

    field: str
    message: str
    anchor: str | None = None
    """Id of the field on this page; None when the page has no such field."""
    job: str = ""
    """Number of a job that it speaks of, to go and see it."""


@dataclass(frozen=True, slots=True)
class FormState:
    """Values by the names of the schema, and the errors of a form that was refused."""

    values: Mapping[str, str] = field(default_factory=lambda: NOTHING)
    errors: tuple[FieldError, ...] = ()

    @property
    def heading(self) -> str:
        """What stands above the list of errors."""
        return _("This cannot be taken yet")

    def value(self, name: str) -> str:
        """What the field holds; empty when it was never filled in."""
        return self.values.get(name, "")

    def messages(self, name: str) -> tuple[str, ...]:
        """What is wrong with this field."""
        return tuple(error.message for error in self.errors if error.anchor == name)


EMPTY = FormState()


def refused_form(
    values: Mapping[str, str],
    error: JigbookError,
    fields: Iterable[str] = (),
    otherwise: str | None = None,
) -> FormState:
    """The form as it was filled in, with everything that is wrong; `fields` are on the page."""
    known = frozenset({*values, *fields})
    errors = tuple(
        FieldError(
            problem.field,
            said(as_on_the_form(problem)),
            anchor_of(problem.field, known) or otherwise,
            job_of(problem),
        )
        for problem in problems_of(error)
    )
    return FormState(values, errors)


def job_of(problem: Problem) -> str:
    """The job that stands in the way."""
    return str(problem.facts["job"]) if problem.code == "machine_here_already" else ""


def as_on_the_form(problem: Problem) -> Problem:
    """The problem in the words of a page: labels for keys, and no key that could be left out."""
    code = "answer_empty" if problem.code == "text_empty" else problem.code
    if (code, problem.field) == ("wrong_type", "odometer_km"):
        code = "not_kilometres"
    code = without_unit(code, problem.field)
    return Problem(code, form_errors.field(problem.field), problem.facts)


def said(error: JigbookError | Problem) -> str:
    """The explanation as a sentence of its own."""
    sentence = explain(error).sentence
    return sentence[:1].upper() + sentence[1:] + "."


def anchor_of(field: str, known: frozenset[str]) -> str | None:
    """The field on the page that a problem speaks of: itself, or the group that it lies in.

    A problem in `visible_damage.3` belongs to the one field `visible_damage`.
    """
    parts = field.split(".")
    names = (".".join(parts[:end]) for end in range(len(parts), 0, -1))
    return next((name for name in names if name in known), None)
