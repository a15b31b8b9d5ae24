"""What the package may not do, read from its own source: run what data say, or fetch unasked."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "suitability"
SOURCES = {str(path.relative_to(PACKAGE)): path for path in sorted(PACKAGE.rglob("*.py"))}

# Modules that turn bytes into code or objects of any kind, or start other programs.
NEVER_IMPORTED = {"pickle", "cPickle", "dill", "cloudpickle", "joblib", "marshal", "shelve",
                  "subprocess", "pty", "commands", "imp", "code", "xml.sax", "xml.dom"}  # fmt: skip
NEVER_CALLED = {"eval", "exec", "compile", "__import__", "system", "popen", "mktemp", "execv",
                "spawnl", "read_pickle", "to_pickle", "unsafe_load", "full_load"}  # fmt: skip
# A tree of XML is built and never read: so no entity of a stranger's file is ever followed.
XML_READERS = {"parse", "fromstring", "XML", "iterparse", "XMLParser", "XMLPullParser"}
FETCHES = {"urlopen", "urlretrieve"}
# The one place that asks a server, for the state of an address that the run file names.
MAY_FETCH = {"store.py"}


def faults(source: str, name: str) -> list[str]:
    tree = ast.parse(source)
    found = []
    for node in ast.walk(tree):
        at = f"{name}:{getattr(node, 'lineno', 0)}"
        imported = []
        if isinstance(node, ast.Import):
            imported = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            imported = [node.module or "", *(f"{node.module}.{a.name}" for a in node.names)]
            if (node.module or "").startswith("xml"):
                found += [f"{at} reads XML" for a in node.names if a.name in XML_READERS]
        for module in imported:
            if module in NEVER_IMPORTED or module.split(".")[0] in NEVER_IMPORTED:
                found.append(f"{at} imports {module}")
        if isinstance(node, ast.Call):
            found += [f"{at} {fault}" for fault in call_faults(node, name)]
    return found


def call_faults(node: ast.Call, name: str) -> list[str]:
    target = node.func
    called = target.attr if isinstance(target, ast.Attribute) else getattr(target, "id", "")
    of = ast.unparse(target).rpartition(".")[0]
    given = {word.arg: ast.unparse(word.value) for word in node.keywords}
    found = []
    if called in NEVER_CALLED and not (called == "compile" and of == "re"):
        found.append(f"calls {ast.unparse(target)}")
    if given.get("shell", "False") != "False":
        found.append("starts a shell")
    if given.get("allow_pickle", "False") != "False":
        found.append("unpickles arrays")
    if called == "YAML" and given.get("typ") != "'safe'":
        found.append("reads YAML that may make objects")
    if called in FETCHES and name not in MAY_FETCH:
        found.append("fetches")
    if called in XML_READERS and ("ElementTree" in of or of in ("ET", "etree")):
        found.append("reads XML")
    return found


@pytest.mark.parametrize("name", SOURCES)
def test_no_source_runs_what_data_say(name: str) -> None:
    assert faults(SOURCES[name].read_text(encoding="utf-8"), name) == []


@pytest.mark.parametrize(
    "source",
    [
        "import pickle",
        "from pickle import loads",
        "import subprocess",
        "import os\nos.system('x')",
        "eval('1')",
        "run('x', shell=True)",
        "np.load('x', allow_pickle=True)",
        "YAML(typ='unsafe')",
        "YAML()",
        "from xml.etree.ElementTree import fromstring",
        "import xml.etree.ElementTree as ET\nET.parse('x')",
        "urllib.request.urlopen('http://x')",
        "pandas.read_pickle('x')",
        "tempfile.mktemp()",
    ],
)
def test_the_reading_sees(source: str) -> None:
    assert faults(source, "example.py")
