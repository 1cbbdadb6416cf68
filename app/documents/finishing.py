"""What makes a laid-out document a PDF/A-3a and a PDF/UA-1 file at once, before it is written.

The layout engine writes one standard's identifier at a time and leaves some details of the
structure as it has them inside; this puts them as the standards want them. Clauses are those of
ISO 32000-1 (PDF 1.7), ISO 19005-3 (PDF/A-3) and ISO 14289-1 (PDF/UA-1).
"""

from collections.abc import Iterator
from typing import Any

import pydyf  # type: ignore[import-untyped]

VARIANT = "pdf/a-3a"
"""What the layout engine itself writes; level A contains U and B."""
POINTS_PER_PIXEL = 0.75
END_OF_METADATA = b"</rdf:RDF>"
FOOTER = {"Type": "/Pagination", "Subtype": "/Footer"}

_DESCRIPTION = '<rdf:Description rdf:about="" xmlns:{prefix}="{space}"{more}'
_EXTENSION = "http://www.aiim.org/pdfa/ns/extension/"
_PART = {
    "name": "part",
    "valueType": "Integer",
    "category": "internal",
    "description": "Part of ISO 14289 that the file follows",
}


def finish(pdf: Any) -> None:
    """Bring metadata, attachments and structure of a file that is being written into form."""
    # Signing adds its name to the one of two producers and puts it in the other's place.
    pdf.info.pop("Producer", None)
    identify(pdf)
    attach_once(pdf)
    read = list(elements(pdf))
    heads = scopes(pdf, read)
    for element in read:
        if element["S"] == "/Figure":
            box_in_points(pdf, element)
        if element.number in heads:
            element["A"]["Scope"] = heads[element.number]
        if element["S"] == "/TBody":
            go_on_with_header(pdf, element)
    set_feet_apart(pdf, frozenset(element.number for element in read))


def at(pdf: Any, reference: Any) -> Any:
    """The object that a reference such as b"7 0 R" names."""
    return pdf.objects[int(bytes(reference).split()[0])]


def elements(pdf: Any) -> Iterator[Any]:
    """Every element of the structure, in reading order."""
    waiting = [at(pdf, pdf.catalog["StructTreeRoot"])]
    while waiting:
        element = waiting.pop()
        if element.get("Type") == "/StructElem":
            yield element
        waiting += reversed(children(pdf, element))


def children(pdf: Any, element: Any) -> list[Any]:
    """The elements right below one; places in the content and annotations are left out."""
    kids = [at(pdf, kid) for kid in element.get("K", ()) if isinstance(kid, bytes)]
    return [kid for kid in kids if kid.get("Type") == "/StructElem"]


def identify(pdf: Any) -> None:
    """Add the PDF/UA identifier, and its description, since PDF/A knows no such property.

    ISO 14289-1, 5; ISO 19005-3, 6.6.2.3.
    """
    metadata = at(pdf, pdf.catalog["Metadata"])
    (packet,) = metadata.stream
    before, end, after = packet.partition(END_OF_METADATA)
    metadata.stream[:] = [before + ua_metadata().encode() + end + after]


def ua_metadata() -> str:
    """Both descriptions, as XMP."""
    space = "http://www.aiim.org/pdfua/ns/id/"
    identifier = _DESCRIPTION.format(prefix="pdfuaid", space=space, more=' pdfuaid:part="1"/>')
    inner = {"schema": "PDF/UA identification", "namespaceURI": space, "prefix": "pdfuaid"}
    told = tags("pdfaSchema", inner) + (
        '<pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType="Resource">'
        + tags("pdfaProperty", _PART)
        + "</rdf:li></rdf:Seq></pdfaSchema:property>"
    )
    more = (
        ' xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#"'
        ' xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#">'
    )
    head = _DESCRIPTION.format(prefix="pdfaExtension", space=_EXTENSION, more=more)
    return (
        f"{identifier}{head}<pdfaExtension:schemas><rdf:Bag>"
        f'<rdf:li rdf:parseType="Resource">{told}</rdf:li>'
        "</rdf:Bag></pdfaExtension:schemas></rdf:Description>"
    )


def tags(prefix: str, values: dict[str, str]) -> str:
    """Simple properties of one namespace."""
    return "".join(f"<{prefix}:{key}>{value}</{prefix}:{key}>" for key, value in values.items())


def attach_once(pdf: Any) -> None:
    """Each attachment is listed once among the associated files; the engine lists it twice."""
    if "AF" in pdf.catalog:
        pdf.catalog["AF"] = pydyf.Array(dict.fromkeys(pdf.catalog["AF"]))


def box_in_points(pdf: Any, figure: Any) -> None:
    """The figure's box in points from the page's lower left corner (ISO 32000-1, 14.8.5.4.3);
    the engine gives pixels from the upper left one."""
    page = at(pdf, figure["Pg"])
    height = page["MediaBox"][3]
    left, top, right, bottom = (POINTS_PER_PIXEL * value for value in figure["A"]["BBox"])
    figure["A"]["BBox"] = pydyf.Array(
        [round(value, 3) for value in (left, height - bottom, right, height - top)]
    )


def scopes(pdf: Any, read: list[Any]) -> dict[int, str]:
    """By number of a table's header cell what it heads (ISO 32000-1, table 349).

    In the table's head, and alone in its row, it heads the cells below it; else those beside it.
    """
    found = {}
    for row in (one for one in read if one["S"] == "/TR"):
        cells = children(pdf, row)
        above = at(pdf, row["P"])["S"] == "/THead" or all(cell["S"] == "/TH" for cell in cells)
        for cell in cells:
            if cell["S"] == "/TH":
                found[cell.number] = "/Column" if above else "/Row"
    return found


def go_on_with_header(pdf: Any, body: Any) -> None:
    """A row of a table's body without a header of its own goes on with the row above: its cells
    have that row's header (ISO 32000-1, 14.8.4.3.4), which the engine leaves them without."""
    header = None
    for row in children(pdf, body):
        cells = children(pdf, row)
        heads = [cell for cell in cells if cell["S"] == "/TH"]
        if heads:
            header = heads[0]["ID"] if len(heads) < len(cells) else None
        elif header is not None:
            for cell in cells:
                cell["A"]["Headers"] = pydyf.Array([header])


def set_feet_apart(pdf: Any, read: frozenset[int]) -> None:
    """Running feet are artifacts of the page (ISO 14289-1, 7.8): the engine marks their text as
    content, whose elements hang on no branch of the structure, which `read` has the numbers of."""
    root = at(pdf, pdf.catalog["StructTreeRoot"])
    numbers = at(pdf, root["ParentTree"])["Nums"]
    owners = dict(zip(numbers[::2], numbers[1::2], strict=True))
    for number in pdf.pages["Kids"][::3]:
        page = pdf.objects[number]
        of_page = owners[page["StructParents"]]
        loose = {
            place for place, owner in enumerate(of_page) if int(bytes(owner).split()[0]) not in read
        }
        as_footer(at(pdf, page["Contents"]).stream, loose)
        for place in loose:
            of_page[place] = "null"


def as_footer(content: list[Any], loose: set[int]) -> None:
    """Mark the pieces of a page's content with these numbers as its foot."""
    for place, properties in enumerate(content):
        if isinstance(properties, dict) and properties.get("MCID") in loose:
            content[place - 1] = "/Artifact"
            content[place] = pydyf.Dictionary(FOOTER)
