"""What makes a PDF both PDF/A-3a and PDF/UA-1, and what it says of the files attached to it.

The renderer can claim one standard at a time. It writes PDF/A-3a; the few things that PDF/UA-1 asks
for as well are added here, on the objects of the PDF just before it is written: the claim itself,
with the schema that PDF/A wants for every property it does not know (ISO 19005-3, 6.6.2.3), and the
scope of each table heading (ISO 14289-1, 7.5).
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator, Sequence
from typing import Any

from configurator.errors import ConfiguratorError
from configurator.selection.carried import DIGESTS, OWNER, Carried, digest

_LINKS = ("https:", "mailto:", "tel:")

_CLAIM = b"""\
<rdf:Description rdf:about="" xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/" pdfuaid:part="1"/>
<rdf:Description rdf:about=""
 xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/"
 xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#"
 xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#">
<pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">
<pdfaSchema:schema>PDF/UA identification schema</pdfaSchema:schema>
<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>
<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix>
<pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType="Resource">
<pdfaProperty:name>part</pdfaProperty:name>
<pdfaProperty:valueType>Integer</pdfaProperty:valueType>
<pdfaProperty:category>internal</pdfaProperty:category>
<pdfaProperty:description>Part of ISO 14289 followed</pdfaProperty:description>
</rdf:li></rdf:Seq></pdfaSchema:property>
</rdf:li></rdf:Bag></pdfaExtension:schemas>
</rdf:Description>
</rdf:RDF>"""


def add_standards(pdf: Any, carried: Carried | None = None, padding: int = 0) -> None:
    """Complete the renderer's objects: the second standard, and the digests of what is attached.

    Args:
        pdf: the PDF as WeasyPrint's library keeps it, before it is written.
        carried: what is attached to it.
        padding: how many objects to add that mean nothing; see :func:`ends_are_plain`.

    Raises:
        ConfiguratorError: a link leads to something else than the web, a letter or a call.
    """
    _require_links(pdf)
    for row in _elements(pdf, "/TR"):
        _give_scopes([_at(pdf, kid) for kid in row["K"]])
    metadata = _at(pdf, pdf.catalog["Metadata"])
    metadata.stream = [metadata.stream[0].replace(b"</rdf:RDF>", _CLAIM)]
    metadata.compress = False
    if carried is not None:
        pdf.catalog["AF"][:] = dict.fromkeys(pdf.catalog["AF"])  # the renderer names each twice
        pdf.catalog["PieceInfo"] = _digests(carried)
    for _ in range(padding):
        pdf.add_object(type(pdf.catalog)())
    for item in pdf.objects:
        if getattr(item, "compress", False):
            _end_plainly(item)


def ends_are_plain(pdf: bytes) -> bool:
    """Whether no stream ends with a carriage return before the line feed that closes it.

    Together they would be read as one end of line, and the stream's length as wrong
    (ISO 19005-3, 6.1.7.1). Where the PDF's own tables end so, a little padding changes them.
    """
    return b"\r\nendstream" not in pdf


def _end_plainly(stream: Any) -> None:
    """Leave a stream uncompressed that would end with a carriage return when compressed.

    What zlib writes ends with the last byte of the checksum.
    """
    stream.compress = False
    raw = stream.data.partition(b"\nstream\n")[2].removesuffix(b"\nendstream")
    stream.stream = [raw]
    stream.compress = zlib.adler32(raw) & 0xFF != ord("\r")


def _at(pdf: Any, reference: bytes) -> Any:
    """The object that is referred to."""
    return pdf.objects[int(reference.split()[0])]


def _elements(pdf: Any, kind: str) -> Iterator[Any]:
    """The parts of the document's structure that are of a kind."""
    for item in pdf.objects:
        if isinstance(item, dict) and item.get("S") == kind:
            yield item


def _give_scopes(cells: Sequence[Any]) -> None:
    """Say of each heading in a row whether it heads the row or a column.

    A heading that some cell of its own row names heads that row.
    """
    named = {id(name) for cell in cells for name in cell.get("A", {}).get("Headers", ())}
    for cell in cells:
        if cell["S"] == "/TH":
            cell["A"]["Scope"] = "/Row" if id(cell["ID"]) in named else "/Column"


def _require_links(pdf: Any) -> None:
    for item in pdf.objects:
        action = item.get("A") if isinstance(item, dict) else None
        if action is None or action.get("Type") != "/Action":
            continue
        target = action["URI"].string if "URI" in action else str(action["S"])
        if not target.lower().startswith(_LINKS):
            raise ConfiguratorError(
                f'the paper has a link to "{target}": only https, mailto and tel may be linked to'
            )


def _digests(carried: Carried) -> Any:
    """The digest of each file, where a PDF keeps the data of the program that made it."""
    from pydyf import Array, Dictionary, String

    pairs = [(file.name, digest(file.content)) for file in carried.files]
    private = Dictionary({DIGESTS: Array(String(text) for pair in pairs for text in pair)})
    stamp = String(f"D:{carried.day.isoformat().replace('-', '')}000000Z")
    return Dictionary({OWNER: Dictionary({"LastModified": stamp, "Private": private})})
