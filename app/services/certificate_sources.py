"""Where reference values and limits come from, and what is on record of the maker's word."""

from app.schemas.reference import ReferenceIn
from app.schemas.result import ResultOut
from app.services.references import RevisionView
from app.wording import jobs, labels
from app.wording.enumeration import listed
from app.wording.numbers import plain
from app.wording.translation import _

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


def is_the_makers(document: ReferenceIn, key: str) -> bool:
    """Whether the reference has its data from the maker, this characteristic not left out."""
    if document.provenance is None or document.provenance.kind != "maker":
        return False
    own = (document.characteristics[key].source or "").casefold()
    return not any(words in own for words in NO_SOURCE)


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
    return _("{words}; limit {limit} mm").format(words=words, limit=plain(limit))
