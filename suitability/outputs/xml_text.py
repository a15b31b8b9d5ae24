"""XML files, written whole, with nothing in them that XML 1.0 does not allow."""

from __future__ import annotations

import os
import re
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from suitability.outputs.atomic import write_text

# What is no character of XML 1.0 (fifth edition, 2.2); names in data may hold anything.
_NO_CHARACTER = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def add_text(parent: Element, tag: str, text: str) -> None:
    """Add an element that holds a text and nothing else."""
    SubElement(parent, tag).text = _NO_CHARACTER.sub("\ufffd", text)


def write_xml(path: str | os.PathLike[str], root: Element) -> None:
    """Write a document in UTF-8, indented, so that a text editor shows it well."""
    indent(root)
    body = tostring(root, encoding="unicode")
    write_text(path, f'<?xml version="1.0" encoding="UTF-8"?>\n{body}\n')
