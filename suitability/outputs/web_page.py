"""One page for a browser that holds all it needs, and can fetch nothing."""

from __future__ import annotations

import base64
import hashlib
import html
import json
import os
import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from suitability.outputs.atomic import write_text
from suitability.outputs.record import plain_form

# In the order in which they need each other.
_SCRIPTS = (
    "codes", "judge", "land", "paint", "words", "yaml", "sky", "map", "key", "sites", "weights",
    "layers", "main",
)  # fmt: skip
_FENCES = {ord("<"): r"\u003c", ord(">"): r"\u003e", ord("&"): r"\u0026",
           0x2028: r"\u2028", 0x2029: r"\u2029"}  # fmt: skip


def write_web_page(
    path: str | os.PathLike[str],
    *,
    title: str,
    facts: Mapping[str, Any],
    blocks: Mapping[str, str],
) -> None:
    """Write the page.

    Its policy lets only the scripts and styles run that are in it, by their sums, and lets nothing
    be fetched; what comes from data is text throughout.

    Parameters
    ----------
    path : path
        Where to.
    title : str
        Of the page.
    facts : mapping
        What the page shows, as JSON knows it once numbers and arrays are put in plain form.
    blocks : mapping of str to str
        Packed rasters by name, in base64.
    """
    style = _text("vendor/leaflet.css") + _text("page.css")
    library, script = _text("vendor/leaflet.js"), _script()
    policy = (
        f"default-src 'none'; script-src {_sum(library)} {_sum(script)}; style-src {_sum(style)}; "
        "img-src data: blob:; base-uri 'none'; form-action 'none'"
    )
    parts = {
        "TITLE": html.escape(title),
        "POLICY": policy,
        "STYLE": style,
        "LIBRARY": library,
        "SCRIPT": script,
        "LICENCE": _text("vendor/LICENSE"),
        "FACTS": as_json(facts),
        "BLOCKS": "\n".join(
            f'<script type="text/plain" id="{html.escape(name)}">{text}</script>'
            for name, text in blocks.items()
        ),
    }
    # In one pass, so that nothing in data is taken for a place to fill.
    page = re.sub(r"\{\{([A-Z]+)\}\}", lambda place: parts[place[1]], _text("page.html"))
    write_text(path, page)


def as_json(facts: Mapping[str, Any]) -> str:
    """Return facts as JSON that can end no element of a page."""
    text = json.dumps(plain_form(facts), ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return text.translate(_FENCES)


def _script() -> str:
    inner = "\n".join(_text(f"{name}.js") for name in _SCRIPTS)
    return f'(() => {{\n"use strict";\n{inner}\n}})();\n'


def _sum(text: str) -> str:
    digest = hashlib.sha256(text.encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"


@cache
def _text(name: str) -> str:
    """Return a file of the page; the library's without what it would fetch, were it asked to."""
    text = (files("suitability.outputs") / "web" / name).read_text(encoding="utf-8")
    text = re.sub(r"(?m)^//# sourceMappingURL=.*$", "", text)
    return re.sub(r"(?:behavior|background-image): url\([^)]*\);", "", text)
