"""What a certificate says, words and numbers ready. Nothing here decides or computes."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Line:
    """One labelled fact."""

    label: str
    value: str


@dataclass(frozen=True, slots=True)
class CharacteristicLine:
    """One row of the table; every number is text, rounded, with its unit in `unit`."""

    key: str
    name: str
    unit: str
    nominal: str
    limits: str
    required: bool
    before: str
    """Deviation with its sense, empty when there was no measurement before."""
    before_uncertainty: str
    before_verdict: str
    after: str
    uncertainty: str
    coverage: str
    probability: str
    verdict: str
    """Code."""
    finding: str
    """Word."""
    bar_svg: str
    """The tolerance bar, for print; empty without limits."""


@dataclass(frozen=True, slots=True)
class View:
    """One drawn view with the sentence that describes it."""

    caption: str
    svg: str


@dataclass(frozen=True, slots=True)
class CertificateContent:
    """Everything that is printed, in the order of the page."""

    number: str
    kind: str
    title: str
    subtitle: str
    language: str
    shop: tuple[str, ...]
    finding_verdict: str
    finding_sentence: str
    finding_details: tuple[str, ...]
    machine: tuple[Line, ...]
    claim: tuple[Line, ...]
    dates: tuple[Line, ...]
    people: tuple[Line, ...]
    same_person: str
    characteristics: tuple[CharacteristicLine, ...]
    views: tuple[View, ...]
    method: tuple[str, ...]
    instrument: tuple[Line, ...]
    decision_rule: tuple[str, ...]
    not_measured: tuple[str, ...]
    visual_check: tuple[Line, ...]
    holds: tuple[str, ...]
    opinions: tuple[str, ...]
    cautions: tuple[str, ...]
    scope: tuple[str, ...]
    replaces: str
    how_to_check: tuple[str, ...]
    check_address: str
    data_sha256: str
    issued_at: str
