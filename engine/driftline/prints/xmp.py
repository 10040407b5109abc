"""Provenance and credit as an XMP packet (ISO 16684-1), and back.

Each field of the provenance is one simple property in a namespace of our own, written as an attribute so that
every character comes back as it went in. Credit stands in Dublin Core, where picture programs look for it.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from typing import Any, Final

from defusedxml import DefusedXmlException
from defusedxml.ElementTree import fromstring
from pydantic import ValidationError

from driftline import __version__
from driftline.errors import PrintError
from driftline.prints.provenance import FORMAT, Making, Provenance

NAMESPACE: Final = "https://driftline.invalid/ns/print/1/"
PACKET_LIMIT: Final = 1 << 20

_X = "adobe:ns:meta/"
_RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
_DC = "http://purl.org/dc/elements/1.1/"
_XMP = "http://ns.adobe.com/xap/1.0/"
_XML = "http://www.w3.org/XML/1998/namespace"
_PREFIXES = {"x": _X, "rdf": _RDF, "dc": _DC, "xmp": _XMP, "driftline": NAMESPACE}
_OPEN = '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>\n'
_CLOSE = '\n<?xpacket end="r"?>'
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_WHOLE = {"edition", "long_edge", "quality", "ceiling_bytes"}
_DECIMAL = {"acutance", "anchor_ev"}


@dataclass(frozen=True)
class Credit:
    """Who made the picture and what may be done with it; empty words are left out."""

    creator: str = ""
    rights: str = ""
    caption: str = ""


def xmp_packet(provenance: Provenance, credit: Credit = Credit()) -> bytes:
    """The packet to put into a print, UTF-8.

    Parameters
    ----------
    provenance
        What made the print; fields that are None are left out.
    credit
        Creator, rights and caption, as ``dc:creator``, ``dc:rights`` and ``dc:description``.

    Returns
    -------
    bytes
        The same for the same input, whenever it is made.
    """
    for prefix, uri in _PREFIXES.items():
        ET.register_namespace(prefix, uri)
    root = ET.Element(f"{{{_X}}}xmpmeta")
    about = ET.SubElement(
        ET.SubElement(root, f"{{{_RDF}}}RDF"), f"{{{_RDF}}}Description", {f"{{{_RDF}}}about": ""}
    )
    about.set(f"{{{_XMP}}}CreatorTool", f"driftline {__version__}")
    about.set(f"{{{NAMESPACE}}}format", str(FORMAT))
    about.set(f"{{{NAMESPACE}}}key", provenance.making.key())
    for name, value in _fields(provenance).items():
        about.set(f"{{{NAMESPACE}}}{name}", _NOT_XML.sub("\ufffd", str(value)))
    _add_list(about, "creator", "Seq", credit.creator)
    _add_list(about, "rights", "Alt", credit.rights)
    _add_list(about, "description", "Alt", credit.caption)
    ET.indent(root, " ")
    return (_OPEN + ET.tostring(root, encoding="unicode") + _CLOSE).encode()


def provenance_in(packet: bytes) -> Provenance | None:
    """The provenance in an XMP packet; None if it holds none of ours.

    Raises
    ------
    PrintError
        ``provenance-broken`` if the packet is no sound XML, brings entities or a document type, is longer
        than 1 MB, or holds fields of ours that make no sense; ``provenance-newer`` if a later driftline
        wrote it.
    """
    if len(packet) > PACKET_LIMIT:
        raise _broken(f"the XMP packet has {len(packet)} bytes; at most {PACKET_LIMIT} are read")
    try:
        root = fromstring(packet.strip(b"\0 \n"), forbid_dtd=True)
    except (ET.ParseError, DefusedXmlException, UnicodeDecodeError, ValueError) as error:
        raise _broken(f"the XMP packet is not sound XML ({error})") from error
    found = _our_properties(root)
    if "format" not in found:
        return None
    if found.pop("format") != str(FORMAT):
        raise PrintError(
            "provenance-newer",
            "the print's provenance has a format this driftline does not know",
            hint="a newer driftline",
        )
    found.pop("key", None)
    try:
        return _provenance_from(found)
    except (ValidationError, ValueError) as error:
        raise _broken(f"the print's provenance is incomplete or changed: {_first_line(error)}") from error


def credit_in(packet: bytes) -> Credit:
    """The credit in a sound XMP packet; empty words for what it does not hold."""
    root = fromstring(packet.strip(b"\0 \n"), forbid_dtd=True)
    found = (root.find(f".//{{{_DC}}}{name}//{{{_RDF}}}li") for name in ("creator", "rights", "description"))
    return Credit(*((node.text or "") if node is not None else "" for node in found))


def _fields(provenance: Provenance) -> dict[str, Any]:
    """All fields in one level; names of making and provenance do not collide."""
    whole = provenance.model_dump(exclude_none=True)
    return {**whole.pop("making"), **whole}


def _provenance_from(found: dict[str, str]) -> Provenance:
    typed: dict[str, Any] = dict(found)
    typed.update({name: int(found[name]) for name in _WHOLE & found.keys()})
    typed.update({name: float(found[name]) for name in _DECIMAL & found.keys()})
    making = {name: typed.pop(name) for name in Making.model_fields.keys() & typed.keys()}
    return Provenance(making=Making(**making), **typed)


def _our_properties(root: ET.Element) -> dict[str, str]:
    """Our properties, as attributes or as elements: rewriting a packet may turn one into the other."""
    start = f"{{{NAMESPACE}}}"
    found: dict[str, str] = {}
    for node in root.iter(f"{{{_RDF}}}Description"):
        found.update({name[len(start) :]: value for name, value in node.items() if name.startswith(start)})
        found.update(
            {child.tag[len(start) :]: child.text or "" for child in node if child.tag.startswith(start)}
        )
    return found


def _add_list(about: ET.Element, name: str, kind: str, words: str) -> None:
    if not words:
        return
    items = ET.SubElement(ET.SubElement(about, f"{{{_DC}}}{name}"), f"{{{_RDF}}}{kind}")
    item = ET.SubElement(items, f"{{{_RDF}}}li", {f"{{{_XML}}}lang": "x-default"} if kind == "Alt" else {})
    item.text = _NOT_XML.sub("\ufffd", words)


def _first_line(error: Exception) -> str:
    if isinstance(error, ValidationError):
        first = error.errors()[0]
        return f"{'.'.join(map(str, first['loc']))}: {first['msg']}"
    return str(error)


def _broken(why: str) -> PrintError:
    return PrintError("provenance-broken", why, hint="another copy of the print")
