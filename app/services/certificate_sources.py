"""Where reference values and limits come from, and what is on record of the maker's word."""

from app.schemas.reference import ReferenceIn
from app.schemas.result import ResultOut
from app.services.certificate_case import Case
from app.services.certificate_corrections import straightened_though_forbidden
from app.services.machines import MachineView
from app.services.reference_fit import differing
from app.services.references import RevisionView
from app.wording import jobs, labels
from app.wording.enumeration import listed
from app.wording.numbers import plain
from app.wording.translation import _, counted

MOST_NAMED = 6
"""Characteristics that are named beside one source."""
NO_SOURCE = ("no source", "common practice")
"""Words of a source that say that there is none, in a reference that is the maker's otherwise."""


def sources_of_reference(reference: RevisionView | None, result: ResultOut) -> tuple[str, ...]:
    """The source of each reference value and limit that is printed, in the words of the
    reference; the material, and whether the maker permits straightening."""
    if reference is None:
        return ()
    document = reference.reference
    by_source: dict[str, list[str]] = {}
    for key in keys_in(document, result):
        name = labels.characteristic(key)
        by_source.setdefault(source_of(document, key), []).append(name)
    if not by_source:
        return (repair_sentence(document),)
    return (told(by_source), repair_sentence(document))


def keys_in(document: ReferenceIn, result: ResultOut) -> list[str]:
    """The characteristics of the result that the reference has a value or a limit for."""
    return [
        one["key"] for one in result["characteristics"] if one["key"] in document.characteristics
    ]


def told(by_source: dict[str, list[str]]) -> str:
    """Each source once, with the characteristics that have it; one for all by itself."""
    if len(by_source) == 1:
        (source,) = by_source
        return _("Source of all reference values and limits: {source}.").format(
            source=source.rstrip(".")
        )
    parts = (
        _("{source} ({names})").format(source=source, names=listed(names, MOST_NAMED))
        for source, names in by_source.items()
    )
    return _("Sources of reference values and limits: {sources}.").format(sources="; ".join(parts))


def source_of(document: ReferenceIn, key: str) -> str:
    """The source of one characteristic; without words of its own that of the whole reference."""
    own = document.characteristics[key].source
    if own:
        return own
    kind = document.provenance.kind if document.provenance else None
    return jobs.provenance(kind) if kind else _("source not stated")


def not_the_makers(reference: RevisionView | None, result: ResultOut) -> frozenset[str]:
    """Keys of the printed characteristics with limits that the maker is not named for."""
    if reference is None:
        return frozenset()
    document = reference.reference
    return frozenset(
        key
        for key in keys_in(document, result)
        if document.characteristics[key].has_limit and not is_the_makers(document, key)
    )


def without_source(reference: RevisionView | None, result: ResultOut) -> frozenset[str]:
    """Of these the ones whose limits have no source at all."""
    if reference is None:
        return frozenset()
    document = reference.reference
    return frozenset(
        key for key in not_the_makers(reference, result) if has_no_source(document, key)
    )


def about_reference(case: Case, result: ResultOut) -> str:
    """What must be known of the reference beside the finding: whether the maker forbids
    straightening, whether it is of another machine, and whether its limits are the maker's. Empty
    where nothing is to be said."""
    if case.reference is None:
        return ""
    told = [
        forbidden(case),
        of_another(case.job.machine, case.reference),
        limits_in_brief(case.reference, result),
    ]
    return " ".join(filter(None, told))


def forbidden(case: Case) -> str:
    """That the maker forbids straightening, and whether it was done; else empty."""
    if case.reference is None or case.reference.reference.repair.straightening != "forbidden":
        return ""
    if straightened_though_forbidden(case):
        return _("The reference says that the maker forbids straightening; force or heat was used.")
    return _("The reference says that the maker forbids straightening.")


def of_another(machine: MachineView, reference: RevisionView) -> str:
    """That the reference is not of the machine's make, model or years."""
    in_what = differing(machine, reference)
    if "make" in in_what and reference.make:
        return _("The reference is of another make than the machine.")
    if "model" in in_what and reference.model:
        return _("The reference is of another model than the machine.")
    return _("The reference is not of the machine's year.") if "year" in in_what else ""


def limits_in_brief(reference: RevisionView, result: ResultOut) -> str:
    """How many of the limits are not the maker's, and how many have no source; both are marked
    in the tables. Reference values are the maker's only with a reference that is."""
    document = reference.reference
    limited = [one for one in keys_in(document, result) if document.characteristics[one].has_limit]
    others = not_the_makers(reference, result)
    without = len(without_source(reference, result))
    if document.provenance is None or document.provenance.kind != "maker":
        return values_in_brief(bool(limited), without)
    if not others:
        return ""
    told = _("The limits are not from the maker")
    if len(others) < len(limited):
        some = _("{count} of {of} limits are not from the maker")
        told = some.format(count=len(others), of=len(limited))
    if without:
        text = _("{limits}, {count} of them (††) without a source")
        told = text.format(limits=told, count=without)
    return f"{told}."


def values_in_brief(limited: bool, without: int) -> str:
    """The same of a reference that is not the maker's at all.

    limited: whether it has limits; without: how many of these have no source.
    """
    if not limited:
        return _("The reference values are not from the maker.")
    if not without:
        return _("Reference values and limits are not from the maker.")
    return counted(
        "Reference values and limits are not from the maker, {count} limit (††) without a source.",
        "Reference values and limits are not from the maker, {count} limits (††) without a source.",
        without,
    ).format(count=without)


def has_no_source(document: ReferenceIn, key: str) -> bool:
    """Whether a characteristic's own words say that it has none, or nothing is stated at all."""
    own = (document.characteristics[key].source or "").casefold()
    if own:
        return any(words in own for words in NO_SOURCE)
    return document.provenance is None


def is_the_makers(document: ReferenceIn, key: str) -> bool:
    """Whether the reference has its data from the maker, this characteristic not left out."""
    if document.provenance is None or document.provenance.kind != "maker":
        return False
    return not has_no_source(document, key)


def repair_sentence(document: ReferenceIn) -> str:
    """The material, and the maker's word on straightening, as the reference has them."""
    materials = ", ".join(
        f"{labels.named(part)} {labels.named(material)}"
        for part, material in document.materials.items()
    )
    return _("Material on record: {materials}. Straightening: {word}.").format(
        materials=materials or _("not stated"), word=straightening(document)
    )


def straightening(document: ReferenceIn) -> str:
    """What the reference says of the maker's word."""
    words = {
        "permitted": _("permitted by the maker, as the reference says"),
        "forbidden": _("forbidden by the maker, as the reference says"),
    }.get(document.repair.straightening, _("the maker's word is not on record"))
    limit = document.repair.limit_mm
    if limit is None:
        return words
    told = _("{words}, up to {limit} mm")
    if document.repair.straightening != "permitted":
        told = _("{words}; the reference's repair limit of {limit} mm does not permit it")
    return told.format(words=words, limit=plain(limit))
