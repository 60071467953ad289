"""The MusicXML 4.0 schema as an outside check.

The XSD is the W3C's (https://www.w3.org/2021/06/musicxml40/), as the PyPI package `musicxml` carries it. That
package lacks the two schemas it imports (xlink, xml), so small local ones stand in for them.
"""

from __future__ import annotations

from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

from lxml import etree

_XML = """<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema"
 targetNamespace="http://www.w3.org/XML/1998/namespace">
 <xs:attribute name="lang" type="xs:language"/>
 <xs:attribute name="space"><xs:simpleType><xs:restriction base="xs:NCName">
  <xs:enumeration value="default"/><xs:enumeration value="preserve"/>
 </xs:restriction></xs:simpleType></xs:attribute>
</xs:schema>"""

_XLINK = """<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema"
 targetNamespace="http://www.w3.org/1999/xlink">
 <xs:attribute name="href" type="xs:anyURI"/><xs:attribute name="type" type="xs:string"/>
 <xs:attribute name="role" type="xs:string"/><xs:attribute name="title" type="xs:string"/>
 <xs:attribute name="show" type="xs:string"/><xs:attribute name="actuate" type="xs:string"/>
</xs:schema>"""


class _StandIns(etree.Resolver):
    def resolve(self, system_url: str, public_id: str, context: object) -> object:  # type: ignore[override]
        for name, text in {"xlink.xsd": _XLINK, "xml.xsd": _XML}.items():
            if system_url.endswith(name):
                return self.resolve_string(text, context)
        return None


@lru_cache(maxsize=1)
def musicxml_schema() -> etree.XMLSchema:
    """The compiled MusicXML 4.0 schema."""
    spec = find_spec("musicxml")
    assert spec is not None
    assert spec.origin is not None
    path = Path(spec.origin).parent / "generate_classes" / "musicxml_4_0.xsd"
    parser = etree.XMLParser()
    parser.resolvers.add(_StandIns())
    return etree.XMLSchema(etree.parse(str(path), parser))


def schema_errors(data: bytes) -> list[str]:
    """What the schema says against a document; empty when it is valid."""
    schema = musicxml_schema()
    schema.validate(etree.fromstring(data))
    return [f"line {error.line}: {error.message}" for error in schema.error_log]
