"""Open a run file: YAML in, validated settings out, with the line of every key."""

from __future__ import annotations

import difflib
import os
from dataclasses import dataclass, field
from pathlib import Path

from pydantic import ValidationError

from suitability.config.document import Document, parse_document
from suitability.config.faults import config_error
from suitability.config.settings import RunSettings
from suitability.errors import ConfigError

MAX_BYTES = 1_000_000


@dataclass(frozen=True)
class LoadedRun:
    """A run file that can be used.

    Parameters
    ----------
    settings : RunSettings
        What it says; relative paths are seen from its folder.
    path : path
        The file, absolute.
    text : str
        The file as written.
    document : Document
        Its plain values and the lines of its keys.
    """

    settings: RunSettings
    path: Path
    text: str = field(repr=False)
    document: Document = field(repr=False)

    def locate(self, key: str) -> str:
        """Return where a key stands, for an error.

        Parameters
        ----------
        key : str
            A key such as `inputs.streams[0].layer`.

        Returns
        -------
        str
            Such as `preserve.yaml, line 12: inputs.streams[0].layer`; for a key that is not
            written, its nearest written parent.
        """
        return self.document.locate(key)


def load_run(path: str | os.PathLike[str]) -> LoadedRun:
    """Read and check a run file.

    Parameters
    ----------
    path : path
        The YAML file.

    Raises
    ------
    ConfigError
        If it cannot be read, or says what cannot be used; every fault is listed with its line.
    """
    path = Path(path)
    text = _read_text(path)
    document = parse_document(text, path.name)
    folder = path.absolute().parent.resolve()
    try:
        settings = RunSettings.model_validate(document.values, context={"folder": folder})
    except ValidationError as exc:
        raise config_error(exc, document) from exc
    return LoadedRun(settings, folder / path.name, text, document)


def _read_text(path: Path) -> str:
    data = _read_bytes(path)
    if len(data) > MAX_BYTES:
        what = f"the run file is larger than {MAX_BYTES / 1e6:g} MB"
        raise ConfigError(what, where=path, fix="name the YAML file, not a data file")
    if b"\0" in data and not data.startswith((b"\xff\xfe", b"\xfe\xff")):
        what = "the run file is not a text file"
        raise ConfigError(what, where=path, fix="name the YAML file, not a raster or a database")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as exc:
        line = data.count(b"\n", 0, exc.start) + 1
        where = f"{path}, line {line}"
        what = "the run file is not written in UTF-8"
        raise ConfigError(what, where=where, fix="save it as UTF-8 in your text editor") from exc


def _read_bytes(path: Path) -> bytes:
    try:
        _check_is_file(path)
        with path.open("rb") as file:
            return file.read(MAX_BYTES + 1)
    except OSError as exc:
        what = f"the run file cannot be read ({exc.strerror})"
        raise ConfigError(what, where=path, fix="check its name, and who may read it") from exc


def _check_is_file(path: Path) -> None:
    if path.is_dir():
        what = "the run file is a folder"
        raise ConfigError(what, where=path, fix="name the YAML file in it")
    if not path.exists():
        what = "there is no such run file"
        raise ConfigError(what, where=path, fix=_look_alike(path))
    if not path.is_file():  # reading a pipe might never end
        what = "the run file is a device or a pipe"
        raise ConfigError(what, where=path, fix="save the settings in a file, and name it")


def _look_alike(path: Path) -> str:
    if not path.parent.is_dir():
        return "its folder does not exist either: check the path"
    beside = [each.name for each in path.parent.iterdir()]
    runs = [name for name in beside if name.lower().endswith((".yaml", ".yml"))]
    near = difflib.get_close_matches(path.name, runs, n=1, cutoff=0.6)
    return f"did you mean {near[0]}, in the same folder?" if near else "check its name"
