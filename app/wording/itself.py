"""What a certificate says of itself, and a measurement report, which is none, of itself."""

from app.wording.translation import _, later

OF_CERTIFICATE: dict[str, str] = {
    "heading": later("Certificate"),
    "check_at": later("Check this certificate at"),
    "code": later("Code to check this certificate: {words}"),
    "how_to_check": later("How to check this certificate"),
    "speaks_of": later("Opinions, and what this certificate speaks of"),
    "no_opinions": later("This certificate contains no opinions or interpretations."),
    "claims_nothing": later(
        "This certificate claims no accreditation and names no standard as fulfilled."
    ),
    "its_measurement": later("{measurement} (this certificate)"),
}
OF_REPORT: dict[str, str] = {
    "heading": later("Report"),
    "check_at": later("Check this report at"),
    "code": later("Code to check this report: {words}"),
    "how_to_check": later("How to check this report"),
    "speaks_of": later("Opinions, and what this report speaks of"),
    "no_opinions": later("This report contains no opinions or interpretations."),
    "claims_nothing": later(
        "This report claims no accreditation and names no standard as fulfilled."
    ),
    "its_measurement": later("{measurement} (this report)"),
}


def of(what: str, kind: str) -> str:
    """Return one of these by the kind of certificate, `report` or `completion`."""
    return _((OF_REPORT if kind == "report" else OF_CERTIFICATE)[what])
