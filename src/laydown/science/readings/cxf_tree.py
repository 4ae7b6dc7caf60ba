"""CxF3 XML parsed safely: no DTD, no entities, no network, bounded size and depth; names without prefixes."""

from __future__ import annotations

from collections.abc import Iterator

from lxml import etree

from laydown.kernel.errors import UnreadableFile
from laydown.science.readings.limits import MAX_XML_BYTES

_TODO = "Export the readings again as CxF3 or CGATS."
_FORBIDDEN = tuple(
    word.encode(encoding)
    for word in ("<!DOCTYPE", "<!ENTITY")
    for encoding in ("ascii", "utf-16-le", "utf-16-be")
)


def parse_xml(data: bytes, *, file: str) -> etree._Element:
    """Parse XML bytes that may come from anywhere.

    Parameters
    ----------
    data : the file's bytes.
    file : its name, for messages.

    Returns
    -------
    The root element.

    Raises
    ------
    UnreadableFile
        For a document type or entity declaration, broken or too deep XML, or too many bytes.

    Checked against
    ---------------
    Planted entities, DTDs, deep and cut XML (``test_readings_safety.py``).
    """
    if len(data) > MAX_XML_BYTES.value:
        what = f"this XML file is larger than {MAX_XML_BYTES.value / 1024 / 1024:.0f} MB."
        raise UnreadableFile(what, todo="Split it.", file=file)
    declared = "this XML file declares a document type or entities, which measurement files never need."
    if any(word in data for word in _FORBIDDEN):
        raise UnreadableFile(declared, todo=_TODO, file=file)
    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        huge_tree=False,
        load_dtd=False,
        remove_comments=True,
        remove_pis=True,
    )
    try:
        root = etree.fromstring(data.strip(), parser)
    except (etree.XMLSyntaxError, ValueError) as error:
        line = getattr(error, "lineno", None)
        what = "this XML file is damaged or cut short."
        raise UnreadableFile(what, todo=_TODO, file=file, line=line or None) from error
    if root.getroottree().docinfo.internalDTD is not None:
        raise UnreadableFile(declared, todo=_TODO, file=file)
    return root


def local(element: etree._Element) -> str:
    """The element's name without namespace; empty for anything that is no element.

    Parameters
    ----------
    element : any node.

    Returns
    -------
    The bare name.

    Checked against
    ---------------
    Three prefixes (``test_cxf.py``).
    """
    tag: object = element.tag
    return tag.rpartition("}")[2] if isinstance(tag, str) else ""


def children(element: etree._Element, *names: str) -> Iterator[etree._Element]:
    """Child elements, of the given names where any are given.

    Parameters
    ----------
    element : the parent.
    names : names to keep; all where none is given.

    Returns
    -------
    Elements in file order.

    Checked against
    ---------------
    Planted files (``test_cxf.py``).
    """
    for child in element:
        name = local(child)
        if name and (not names or name in names):
            yield child


def child(element: etree._Element | None, name: str) -> etree._Element | None:
    """The first child of a name, or None.

    Parameters
    ----------
    element : the parent, or None.
    name : its name without namespace.

    Returns
    -------
    The element or None.

    Checked against
    ---------------
    Planted files (``test_cxf.py``).
    """
    return None if element is None else next(children(element, name), None)


def every(element: etree._Element, name: str) -> Iterator[etree._Element]:
    """All elements of a name below an element, in file order.

    Parameters
    ----------
    element : where to look.
    name : name without namespace.

    Returns
    -------
    Elements in file order.

    Checked against
    ---------------
    Planted files (``test_cxf.py``).
    """
    return element.iter("{*}" + name)


def words(element: etree._Element | None) -> str:
    """The text of an element, stripped; empty where there is none.

    Parameters
    ----------
    element : an element, or None.

    Returns
    -------
    The text.

    Checked against
    ---------------
    Planted files (``test_cxf.py``).
    """
    return "" if element is None or not element.text else element.text.strip()


def line_of(element: etree._Element) -> int:
    """The element's line in the file; 0 where the parser kept none.

    Parameters
    ----------
    element : an element.

    Returns
    -------
    A line number from 1, or 0.

    Checked against
    ---------------
    Planted files (``test_cxf.py``).
    """
    line: int | None = getattr(element, "sourceline", None)
    return line or 0
