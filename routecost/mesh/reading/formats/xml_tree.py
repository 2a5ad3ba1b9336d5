"""XML of a mesh file, read without entities and without the network."""

from __future__ import annotations

from typing import Any

from routecost.core.errors import InputError
from routecost.mesh.reading.formats.raw_mesh import EXPORT_AGAIN


def xml_root(data: bytes, file: str, name: str = "") -> Any:
    """The root element (lxml); InputError with the line where the XML is damaged. `name` is a file in an archive."""
    from lxml import etree

    parser = etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=True)
    try:
        return etree.fromstring(data, parser)
    except etree.XMLSyntaxError as error:
        where = f"{name}, line {error.lineno}" if name else f"line {error.lineno}"
        raise InputError.of(file, where, f"the XML is damaged ({error.msg})", EXPORT_AGAIN) from None


def local_name(node: Any) -> str:
    """The name of an element without its namespace."""
    return str(node.tag).rpartition("}")[2]
