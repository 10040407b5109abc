"""Packets are read by lxml and by hand-written expectations, and hostile ones are refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from driftline.errors import PrintError
from driftline.prints.xmp import NAMESPACE, Credit, provenance_in, xmp_packet
from prints.prints_made import picture, provenance

RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
NAMES = {
    "rdf": RDF,
    "dc": "http://purl.org/dc/elements/1.1/",
    "d": NAMESPACE,
    "xmp": "http://ns.adobe.com/xap/1.0/",
}
BOMB = """<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">]>
<x:xmpmeta xmlns:x="adobe:ns:meta/">&b;</x:xmpmeta>"""


def test_all_of_it_comes_back() -> None:
    """Every field, with line ends, quotes, tabs, angle brackets and the last bit of a number."""
    whole = provenance(picture(), picture="ab" * 32, encoder="Pillow <0>")
    assert provenance_in(xmp_packet(whole)) == whole


def test_absent_fields_are_absent() -> None:
    """None is left out, not written as a word."""
    whole = provenance(picture())
    bare = whole.model_copy(
        update={"making": whole.making.model_copy(update={"correction": None, "long_edge": None})}
    )
    packet = xmp_packet(bare)
    assert b"None" not in packet
    assert provenance_in(packet) == bare


def test_an_independent_reader_finds_our_words() -> None:
    """lxml finds properties, tool, and credit in the containers of ISO 16684-1: Seq for creator, else Alt."""
    packet = xmp_packet(
        provenance(picture()), Credit("Ines Okoro-Błoński", "© all rights", "wet <tram> & rain")
    )
    root = etree.fromstring(packet)
    about = root.find(".//rdf:Description", NAMES)
    assert about is not None
    assert about.get(f"{{{NAMESPACE}}}ref") == "tram-fog@8.laptop"
    assert about.get(f"{{{NAMES['xmp']}}}CreatorTool", "").startswith("driftline ")
    assert [e.text for e in about.findall("dc:creator/rdf:Seq/rdf:li", NAMES)] == ["Ines Okoro-Błoński"]
    assert [e.text for e in about.findall("dc:rights/rdf:Alt/rdf:li", NAMES)] == ["© all rights"]
    caption = about.find("dc:description/rdf:Alt/rdf:li", NAMES)
    assert caption is not None
    assert caption.text == "wet <tram> & rain"
    assert caption.get("{http://www.w3.org/XML/1998/namespace}lang") == "x-default"


def test_properties_written_as_elements_are_read_too() -> None:
    """RDF allows both forms, and a program that rewrites the packet may choose the other."""
    whole = provenance(picture())
    root = etree.fromstring(xmp_packet(whole))
    about = root.find(".//rdf:Description", NAMES)
    assert about is not None
    for name, value in list(about.attrib.items()):
        if str(name).startswith(f"{{{NAMESPACE}}}"):
            del about.attrib[name]
            etree.SubElement(about, name).text = value
    text = etree.tostring(root)
    found = provenance_in(text.replace(b"\r", b"&#13;"))
    assert found == whole


@pytest.mark.parametrize(
    "packet",
    [
        BOMB.encode(),
        b'<!DOCTYPE x SYSTEM "file:///etc/hostname"><x/>',
        b"<x:xmpmeta",
        b"\xff\xfe not xml",
        b"<a>" * 100_000,
        b"<x/>" + b" " * (1 << 20),
    ],
    ids=["bomb", "external", "cut", "bytes", "deep", "long"],
)
def test_hostile_packets_are_refused(packet: bytes) -> None:
    """No entity, no document type, no endless packet is taken in."""
    with pytest.raises(PrintError) as caught:
        provenance_in(packet)
    assert caught.value.code == "provenance-broken"


def test_a_foreign_packet_holds_nothing_of_ours() -> None:
    """XMP without our namespace is not an error."""
    assert provenance_in(b'<x:xmpmeta xmlns:x="adobe:ns:meta/"/>') is None


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'driftline:edition="3"', b'driftline:edition="three"'),
        (b'driftline:edition="3"', b'driftline:edition="0"'),
        (b'driftline:edition="3"', b'driftline:unheard="3" driftline:edition="3"'),
        (b'driftline:mosaic="0', b'driftline:mosaic="x'),
        (b"driftline:frame=", b"driftline:fame="),
    ],
)
def test_changed_fields_are_an_error(old: bytes, new: bytes) -> None:
    """A provenance that makes no sense is said to be broken, not half read."""
    packet = xmp_packet(provenance(picture()))
    assert old in packet
    with pytest.raises(PrintError) as caught:
        provenance_in(packet.replace(old, new))
    assert caught.value.code == "provenance-broken"


def test_a_later_format_is_named() -> None:
    """A print of a newer driftline asks for a newer driftline."""
    packet = xmp_packet(provenance(picture())).replace(b'driftline:format="1"', b'driftline:format="2"')
    with pytest.raises(PrintError) as caught:
        provenance_in(packet)
    assert caught.value.code == "provenance-newer"


@given(st.text(max_size=40))
def test_any_frame_name_makes_a_readable_packet(name: str) -> None:
    """Control characters and lone surrogates in file names never make the XML unreadable."""
    packet = xmp_packet(provenance(picture(4, 4), frame=name))
    etree.fromstring(packet)
    assert provenance_in(packet) is not None
