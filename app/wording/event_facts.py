"""What an event of the log says beside its sentence: each value with what it is, in words."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime

from app.wording import (
    calls,
    corrections,
    damage,
    instrument_records,
    jobs,
    labels,
    orders,
    photos,
    verdicts,
    visual_check,
)
from app.wording.events import PURPOSES, WAITS
from app.wording.moments import day, moment
from app.wording.numbers import plain
from app.wording.translation import _, later

LABELS: dict[str, str] = {
    "about": later("what it shows"),
    "account": later("what happened"),
    "address": later("address"),
    "adjuster": later("adjuster"),
    "adjuster_email": later("the adjuster's mail"),
    "adjuster_phone": later("the adjuster's telephone"),
    "answer": later("answer"),
    "authorised_by": later("who ordered it"),
    "authorised_scope": later("what is ordered"),
    "authority": later("digest of the authority"),
    "begin_anew": later("the chart begins anew"),
    "belongings": later("left with the machine"),
    "by": later("replaced by"),
    "calibrated": later("calibrated"),
    "caption": later("caption"),
    "certificate": later("certificate"),
    "changed": later("changed"),
    "check": later("number of the check"),
    "check_bar": later("check bar"),
    "claims": later("claims"),
    "claim_link_days": later("days that a link opens"),
    "claim_number": later("claim"),
    "colour": later("colour"),
    "confidence_threshold": later("probability from which a verdict is given"),
    "count": later("how many"),
    "customer": later("customer"),
    "damage": later("damage"),
    "days": later("days that it opens"),
    "deviation_mm": later("deviation"),
    "deviation_u_mm": later("its standard uncertainty in mm"),
    "document_sha256": later("digest of the document"),
    "done_by": later("done by"),
    "done_on": later("done on"),
    "draft": later("number of the measurement in progress"),
    "due": later("due"),
    "email": later("mail"),
    "engine_version": later("version of the evaluation"),
    "entries": later("entries"),
    "finding": later("finding"),
    "for": later("for"),
    "frame_number": later("frame number"),
    "from": later("from"),
    "given": later("given"),
    "given_back": later("given back"),
    "handed_over_to": later("handed over to"),
    "happened_on": later("the day it happened"),
    "if_unreachable": later("when it cannot be reached"),
    "impact_clock": later("where the impact came from"),
    "impact_kind": later("impact"),
    "instruction": later("the maker's instruction"),
    "instrument": later("instrument"),
    "insurer": later("insurer"),
    "insurer_id": later("insurer"),
    "items": later("items"),
    "item": later("item"),
    "job": later("job"),
    "jobs": later("jobs"),
    "kept_because": later("why it stays"),
    "kept_here": later("stays here"),
    "keys_and_accessories": later("left with the machine"),
    "kind": later("kind"),
    "left": later("left with the machine"),
    "left_turn_deg": later("turn to the left in °"),
    "length_mm": later("length in mm"),
    "length_u_mm": later("its standard uncertainty in mm"),
    "link": later("number of the link"),
    "links": later("links that ended"),
    "log_values": later("values of this log"),
    "machine": later("machine"),
    "machines": later("machines"),
    "make": later("make"),
    "measured_at": later("measured"),
    "measurer_may_sign": later("who measured may sign"),
    "method": later("method"),
    "model": later("model"),
    "name": later("name"),
    "note": later("note"),
    "notes": later("notes, calls and reasons"),
    "noticed": later("codes of what was noticed"),
    "number": later("number of the repeat"),
    "odometer": later("odometer"),
    "odometer_km": later("odometer in km"),
    "offset_u_mm": later("standard uncertainty of the offset in mm"),
    "ordered_after": later("ordered from then on"),
    "ordered_before": later("ordered before"),
    "outcome": later("outcome"),
    "own_statement": later("the shop's own statement"),
    "part": later("part"),
    "passed": later("passed"),
    "phase": later("measured"),
    "phone": later("telephone"),
    "photo": later("number of the photo"),
    "photos": later("photos"),
    "plate": later("plate"),
    "point": later("number of the point"),
    "points": later("points"),
    "policy_number": later("policy"),
    "privacy_notice": later("notice on personal data"),
    "probe_radius_mm": later("probe radius in mm"),
    "problem": later("code of what stood in the way"),
    "promised_before": later("promised before for"),
    "promised_on": later("promised for"),
    "purpose": later("signed for"),
    "reading": later("number of the reading"),
    "readings": later("readings"),
    "reason": later("reason"),
    "reference": later("reference"),
    "repeatability_degrees_of_freedom": later("degrees of freedom of the repeatability"),
    "repeatability_mm": later("repeatability in mm"),
    "revision": later("revision"),
    "rideable": later("whether it can be ridden"),
    "rig": later("set-up"),
    "role": later("role"),
    "roles": later("roles"),
    "scale_expansion_per_k": later("expansion of the scale per K"),
    "scale_temperature_c": later("temperature of the scale in °C"),
    "scale_u_ppm": later("standard uncertainty of the scale in ppm"),
    "scope": later("what was put away"),
    "serial_number": later("serial number"),
    "sessions": later("sessions ended"),
    "sha256": later("SHA-256"),
    "sign_in_name": later("name for signing in"),
    "signals": later("what speaks against it"),
    "signature": later("number of the signature"),
    "signatures": later("signatures"),
    "signer": later("digest of the signer"),
    "since": later("from"),
    "since_seen": later("what became of it"),
    "size": later("bytes"),
    "standard_uncertainty_mm": later("standard uncertainty in mm"),
    "step": later("step"),
    "steps": later("steps measured again"),
    "still_here": later("the machine is still here"),
    "storage_place": later("where it stands"),
    "strokes_sha256": later("digest of the strokes"),
    "study": later("number of the study"),
    "supersedes": later("replaces number"),
    "survey": later("measurement"),
    "takes_back": later("takes back note"),
    "targets": later("targets"),
    "time_stamp": later("time stamp"),
    "time_zone": later("time zone"),
    "title": later("title"),
    "to": later("to"),
    "told": later("told what is open"),
    "until": later("until"),
    "untouched": later("nothing was touched meanwhile"),
    "values": later("values emptied"),
    "verdict": later("result"),
    "way": later("way of signing"),
    "what_happened": later("what happened"),
    "whom": later("whom"),
    "wording_sha256": later("digest of the text"),
    "words": later("text"),
    "year": later("year"),
}
"""What a value is, by its key."""

FURTHER = frozenset({
    "authority", "check", "document_sha256", "draft", "engine_version", "job", "link", "number",
    "photo", "point", "reading", "sha256", "signature", "signer", "size", "strokes_sha256",
    "study", "wording_sha256",
})  # fmt: skip
"""Digests and row numbers: they belong to a single event's page, not into the list."""

TOLD_FIRST: dict[str, tuple[str, ...]] = {
    "certificate.waits": ("for",),
    "draft.opened": ("phase",),
    "draft.points_added": ("points",),
    "hold.closed": ("item",),
    "hold.opened": ("item",),
    "job.call_wanted": ("whom",),
    "job.called": ("whom", "outcome"),
    "job.instrument_chosen": ("instrument",),
    "job.reference_fixed": ("reference",),
    "job.signed": ("purpose",),
    "password.confirmed": ("for",),
    "photo.added": ("about",),
    "photo.described": ("about",),
    "photo.taken_out": ("about",),
    "survey.submitted": ("phase", "finding"),
    "visual_check.answered": ("item", "answer"),
}
"""Values without which the sentence says little: they stand in it."""

BEFORE, AFTER = "_before", "_after"
"""Endings of keys that tell a value as it was and as it became."""


def label(key: str) -> str:
    """Return what a value is; a key of another version is given back as words."""
    for ending, words in ((BEFORE, later("{label} before")), (AFTER, later("{label} now"))):
        first = key.removesuffix(ending)
        if key not in LABELS and first != key and first in LABELS:
            return _(words).format(label=_(LABELS[first]))
    return _(LABELS[key]) if key in LABELS else labels.named(key)


def value(key: str, met: object, names: Mapping[str, str]) -> str:
    """Return a value in words; empty for none. names: what rows are called, by mark."""
    if met is None or met == "":
        return ""
    if isinstance(met, bool):
        return _("yes") if met else _("no")
    if isinstance(met, int) and (mark := f"{_KINDS.get(key, key)}:{met}") in names:
        return names[mark] or _("erased")
    if isinstance(met, int | float):
        return _number(key, met)
    if isinstance(met, list):
        return ", ".join(filter(None, (value(key, one, names) for one in met)))
    if isinstance(met, dict):
        return _damage(met)
    text = str(met)
    return _TOLD[key](text) if key in _TOLD else text


def erased() -> str:
    """Return what stands in place of a personal value that was emptied."""
    return _("erased")


def missing() -> str:
    """Return what stands in place of a personal value that should be there and is not."""
    return _("missing from the log")


def _number(key: str, met: float) -> str:
    """Six digits: a length of a metre to a hundredth of a millimetre."""
    if key == "deviation_mm":
        return instrument_records.deviation(met)
    return str(met) if isinstance(met, int) else plain(float(f"{met:.6g}"))


def _damage(met: Mapping[str, object]) -> str:
    told = {name: str(one) for name, one in met.items() if one}
    if "zone" not in told:
        return ", ".join(told.values())
    return damage.line(told["zone"], told.get("side"), told.get("look"), told.get("note"))


def _one_of(table: Mapping[str, str]) -> Callable[[str], str]:
    return lambda code: _(table.get(code, code))


def _day(text: str) -> str:
    try:
        return day(date.fromisoformat(text))
    except ValueError:
        return text


def _moment(text: str) -> str:
    try:
        return moment(datetime.fromisoformat(text))
    except ValueError:
        return text


def _signals(text: str) -> str:
    known: Sequence[str] = text.split()
    return ", ".join(_(instrument_records.SIGNALS.get(code, code)) for code in known)


SCOPES = {"steering": later("the steering's stations"), "everything": later("everything")}
SIGNED = {"on_screen": later("on the screen"), "on_card": later("on the printed card")}
STOPS = {"refuse": later("no certificate is issued"), "sign_without": later("signed without")}
STAMPS = {"stamped": later("stamped"), "unreachable": later("service not reached")}
GIVEN = {"paper": later("on paper"), "file": later("as a file")}
RIGS = {
    "steady": later("stood still"),
    "moved": later("moved"),
    "not_checked": later("not checked"),
}
_KINDS = {"from": "customer", "to": "customer"}
"""Keys that tell a row's number, and are not called as the kind of row is."""
_TOLD: dict[str, Callable[[str], str]] = {
    "about": photos.about,
    "answer": jobs.answer,
    "calibrated": _day,
    "changed": lambda key: label(key.rpartition(".")[2]),
    "done_on": _day,
    "due": _day,
    "finding": _one_of(verdicts.FINDINGS),
    "for": _one_of({**PURPOSES, **WAITS}),
    "given": _one_of(GIVEN),
    "if_unreachable": _one_of(STOPS),
    "impact_kind": jobs.impact,
    "item": jobs.item,
    "kind": jobs.kind,
    "measured_at": _moment,
    "method": corrections.method,
    "ordered_after": orders.scope,
    "ordered_before": orders.scope,
    "outcome": calls.outcome,
    "part": corrections.part,
    "phase": lambda code: _("{phase} the correction").format(phase=labels.phase(code)),
    "promised_before": _day,
    "promised_on": _day,
    "purpose": photos.purpose,
    "rig": _one_of(RIGS),
    "role": jobs.role,
    "roles": jobs.role,
    "scope": _one_of(SCOPES),
    "signals": _signals,
    "since": _moment,
    "since_seen": visual_check.since,
    "time_stamp": _one_of(STAMPS),
    "until": _moment,
    "verdict": _one_of(instrument_records.HANDEDNESS),
    "way": _one_of(SIGNED),
    "whom": calls.whom,
}
