"""The signature field: laid out as a tagged form field, then turned into a signature field.

The layout engine knows no signature field, but tags a check box with its place in the reading
order; a field that is added when signing would stand outside of it. So the page holds a check
box of that name and size, and this turns it before the file is written.
"""

from typing import Any

import pydyf  # type: ignore[import-untyped]

from app.documents.finishing import at

FIELD = "ShopSignature"
PRINT_AND_LOCKED = 132
SIGNATURES_EXIST_APPEND_ONLY = 3


def to_signature_field(document: Any, pdf: Any) -> None:
    """Finisher of the layout engine: the one form field becomes an empty signature field."""
    form = pdf.catalog["AcroForm"]
    (field,) = [at(pdf, reference) for reference in form["Fields"]]
    x1, y1, x2, y2 = field["Rect"]
    left, bottom, right, top = min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2)
    for key in ("AS", "AP", "MK", "V", "Border", "DA"):
        field.pop(key, None)
    field["Rect"] = pydyf.Array([left, bottom, right, top])
    field["FT"] = "/Sig"
    field["F"] = PRINT_AND_LOCKED
    field["AP"] = pydyf.Dictionary({"N": empty_look(pdf, right - left, top - bottom)})
    for key in ("NeedAppearances", "DR", "DA"):
        form.pop(key, None)
    form["SigFlags"] = SIGNATURES_EXIST_APPEND_ONLY


def stands_on_first_page(pdf: Any) -> bool:
    """Whether the one form field of a file that is being written stands on its first page."""
    first = at(pdf, b"%d 0 R" % pdf.pages["Kids"][0])
    fields = {bytes(reference) for reference in pdf.catalog["AcroForm"]["Fields"]}
    shown = first.get("Annots")
    listed = shown if isinstance(shown, list) else at(pdf, shown) if shown else []
    return bool(fields & {bytes(reference) for reference in listed})


def empty_look(pdf: Any, width: float, height: float) -> bytes:
    """The field's look before it is signed: nothing."""
    look = pydyf.Stream(
        [],
        {
            "Type": "/XObject",
            "Subtype": "/Form",
            "BBox": pydyf.Array([0, 0, width, height]),
            "Resources": pydyf.Dictionary(),
        },
    )
    pdf.add_object(look)
    return bytes(look.reference)
