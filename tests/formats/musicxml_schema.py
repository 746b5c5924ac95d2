"""Validation against the official schema of MusicXML 4.0 (W3C Music Notation Community Group, 2021).

The schema comes with the package `musicxml`, the two that it imports (XLink, XML) with `xmlschema`.
"""

from __future__ import annotations

from functools import cache
from importlib.util import find_spec
from pathlib import Path

from lxml import etree


def _folder(package: str) -> Path:
    return Path(find_spec(package).submodule_search_locations[0])


class _Offline(etree.Resolver):
    """Gives the imported schemas from the disk, by the last part of their address."""

    def resolve(self, url, _public_id, context):
        schemas = _folder("xmlschema") / "schemas"
        here = {"xlink.xsd": schemas / "XLINK" / "xlink.xsd", "xml.xsd": schemas / "XML" / "xml.xsd"}
        file = here.get(url.rsplit("/", 1)[-1])
        return self.resolve_filename(str(file), context) if file else None


@cache
def schema() -> etree.XMLSchema:
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(_Offline())
    file = _folder("musicxml") / "generate_classes" / "musicxml_4_0.xsd"
    return etree.XMLSchema(etree.parse(str(file), parser))


def faults(data: bytes) -> list[str]:
    """What is not valid in a file, with lines; [] for a valid one."""
    parser = etree.XMLParser(no_network=True, load_dtd=False, resolve_entities=False, huge_tree=True)
    schema().validate(etree.fromstring(data, parser))
    return [f"line {error.line}: {error.message}" for error in schema().error_log]


def kinds() -> list[str]:
    """Every kind of chord that the schema knows."""
    file = _folder("musicxml") / "generate_classes" / "musicxml_4_0.xsd"
    path = ".//{*}simpleType[@name='kind-value']//{*}enumeration"
    return [each.get("value") for each in etree.parse(str(file)).iterfind(path)]
