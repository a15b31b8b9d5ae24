"""What a page holds: measures that keep their values, and nothing that can run or be fetched."""

import base64
import hashlib
import json
import re
import zlib
from html.parser import HTMLParser
from importlib.resources import files

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from suitability.config.curves import Curve
from suitability.decide import value_of
from suitability.outputs.web_codes import packed, packed_bytes, scale_for, value_error
from suitability.outputs.web_page import as_json, write_web_page

CURVES = [
    Curve("linear", ((3, 0.0), (5, 0.5), (7, 1.0), (10, 1.0), (14, 0.85))),
    Curve("linear", ((402, 1.0), (1609, 0.0))),
    Curve("linear", ((1, 0.0), (1.001, 1.0), (1.002, 0.0))),  # nearly a spike
    Curve("logistic", ((5, 0.5), (7, 0.9))),
    Curve("logistic", ((5, 0.5), (4.99, 0.9))),  # falling, and nearly a step
    Curve("steps", ((3, 0.5), (7, 1.0)), below=0.2),
]
WIDE = st.floats(-50, 2000, width=32)


@pytest.mark.parametrize("curve", CURVES)
@given(near=st.lists(st.floats(0, 15, width=32), min_size=1), far=st.lists(WIDE))
@settings(max_examples=60, deadline=None)
def test_values_from_codes_are_within_a_thousandth(curve, near, far):
    steps = [np.float32(at) for at, _ in curve.knots]
    beside = [np.nextafter(at, np.float32(way)) for at in steps for way in (-np.inf, np.inf)]
    raw = np.array([*near, *far, *steps, *beside, np.nan], np.float32)
    scale = scale_for(raw, curve)
    codes = scale.encode(raw)
    assert codes[-1] == 0
    assert (codes[:-1] > 0).all()
    assert scale.codes[-1] < 2**16
    assert value_error(raw, curve, scale) <= 1e-3
    off = np.abs(value_of(scale.decode(codes), curve) - value_of(raw, curve))
    assert np.nanmax(off) <= 1e-3
    if curve.kind == "steps":
        assert np.nanmax(off) == 0


def test_measures_that_are_all_alike_or_missing():
    curve = CURVES[0]
    alike = np.full(5, 6.0, np.float32)
    scale = scale_for(alike, curve)
    np.testing.assert_allclose(scale.decode(scale.encode(alike)), alike, atol=1e-4)
    missing = np.full(5, np.nan, np.float32)
    assert (scale_for(missing, curve).encode(missing) == 0).all()
    assert value_error(missing, curve, scale_for(missing, curve)) == 0


def unpacked(text):
    return np.frombuffer(zlib.decompress(base64.b64decode(text), -15), np.uint8)


def test_packed_codes_are_had_again():
    codes = np.array([[5, 65535, 0, 7], [300, 299, 299, 4096]], np.uint16)
    low, high = np.split(unpacked(packed(codes)).astype(np.uint16), 2)
    change = (low + (high << 8)).reshape(codes.shape)
    np.testing.assert_array_equal(np.cumsum(change, axis=1, dtype=np.uint16), codes)
    shades = np.arange(6, dtype=np.uint8).reshape(2, 3)
    np.testing.assert_array_equal(unpacked(packed_bytes(shades)), shades.ravel())


def test_json_ends_no_element():
    hostile = "</script><!-- <script> & \u2028 \u2029"
    text = as_json({"title": hostile, "missing": np.nan, "many": np.arange(2)})
    assert not set("<>&\u2028\u2029") & set(text)
    assert json.loads(text) == {"title": hostile, "missing": None, "many": [0, 1]}


class Parts(HTMLParser):
    """Gathers a page's elements with their text."""

    def __init__(self, text):
        super().__init__()
        self.found = [["", {}, ""]]
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.found.append([tag, dict(attrs), ""])

    def handle_endtag(self, _tag):
        self.found.append(["", {}, ""])  # what follows is no text of it

    def handle_data(self, data):
        self.found[-1][2] += data


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    path = tmp_path_factory.mktemp("page") / "map.html"
    facts = {"title": "{{SCRIPT}} </script>"}
    write_web_page(path, title="a <b> & {{FACTS}}", facts=facts, blocks={"layer-0": "AAAA"})
    return path.read_text("utf-8")


def test_only_what_the_policy_names_can_run(page):
    """Content Security Policy, level 2 (W3C): sources by the SHA-256 of an element's text."""
    parts = Parts(page).found
    policy = next(
        attrs["content"]
        for tag, attrs, _ in parts
        if tag == "meta" and attrs.get("http-equiv") == "Content-Security-Policy"
    )
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["default-src"] == "'none'"
    assert rules["img-src"] == "data: blob:"
    assert not any("unsafe" in rule or "http" in rule or "*" in rule for rule in rules.values())

    def sums(name, is_data):
        return {
            "'sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() + "'"
            for tag, attrs, text in parts
            if tag == name and ("type" in attrs) == is_data
        }

    assert set(rules["script-src"].split()) == sums("script", False)
    assert set(rules["style-src"].split()) == sums("style", False)
    data = [attrs for tag, attrs, _ in parts if tag == "script" and "type" in attrs]
    assert [attrs["type"] for attrs in data] == ["application/json", "text/plain", "text/plain"]


def test_nothing_is_linked(page):
    parts = Parts(page).found
    assert not [tag for tag, _, _ in parts if tag in ("link", "img", "iframe", "object", "base")]
    assert not [attrs for _, attrs, _ in parts if "src" in attrs or "style" in attrs]
    assert not [name for _, attrs, _ in parts for name in attrs if name.startswith("on")]
    style = next(text for tag, _, text in parts if tag == "style")
    assert not re.search(r"url\(|@import", style)
    assert "sourceMappingURL" not in page


def test_texts_are_put_in_as_they_are(page):
    assert "<title>a &lt;b&gt; &amp; {{FACTS}}</title>" in page
    facts = next(text for _, attrs, text in Parts(page).found if attrs.get("id") == "facts")
    assert json.loads(facts)["title"] == "{{SCRIPT}} </script>"


def test_own_scripts_set_no_markup():
    web = files("suitability.outputs") / "web"
    for script in web.iterdir():
        if script.name.endswith(".js"):
            text = script.read_text("utf-8")
            assert not re.search(r"innerHTML|outerHTML|insertAdjacent|document\.write|eval\(", text)


def test_the_library_comes_with_its_licence(page):
    vendor = files("suitability.outputs") / "web" / "vendor"
    head = (vendor / "leaflet.js").read_text("utf-8")[:100]
    version = re.search(r"Leaflet ([\d.]+)", head)[1]
    assert f"Leaflet {version}" in (vendor / "SOURCE.txt").read_text("utf-8")
    assert "Redistribution and use" in (vendor / "LICENSE").read_text("utf-8")
    licence = next(text for _, attrs, text in Parts(page).found if attrs.get("id") == "licence")
    assert licence == (vendor / "LICENSE").read_text("utf-8")
    told = (files("suitability.outputs") / "web" / "layers.js").read_text("utf-8")
    assert f"Leaflet {version} (BSD 2-Clause" in told
