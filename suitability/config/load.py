"""Open a run file: YAML in, validated settings out, with the line of every key."""

from __future__ import annotations

import difflib
import os
import stat
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from suitability.config.document import Document, parse_document
from suitability.config.faults import config_error
from suitability.config.settings import RunSettings
from suitability.errors import ConfigError

MAX_BYTES = 1_000_000
Model = TypeVar("Model", bound=BaseModel)


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
    return parse_run(read_text(path), path)


def parse_run(text: str, path: str | os.PathLike[str]) -> LoadedRun:
    """Check the text of a run file, which need not be there yet.

    Parameters
    ----------
    text : str
        YAML.
    path : path
        Where it lies or will lie: paths in it are seen from there.

    Raises
    ------
    ConfigError
        If it says what cannot be used; every fault is listed with its line.
    """
    path = Path(path)
    document = parse_document(text, path.name)
    folder = path.absolute().parent.resolve()
    try:
        settings = RunSettings.model_validate(document.values, context={"folder": folder})
    except ValidationError as exc:
        raise config_error(exc, document) from exc
    return LoadedRun(settings, folder / path.name, text, document)


def section_of(text: str, name: str, root: type[Model], *, begins: str) -> Model:
    """Return what a file that is no run file says.

    Parameters
    ----------
    text : str
        Its text, YAML.
    name : str
        Its name, for errors.
    root : type
        The section that its keys begin in.
    begins : str
        What to write into an empty one.

    Raises
    ------
    ConfigError
        If it says what cannot be used; every fault is listed with its line.
    """
    document = parse_document(text, name, begins=begins)
    try:
        return root.model_validate(document.values)
    except ValidationError as exc:
        raise config_error(exc, document, root) from exc


def read_text(path: str | os.PathLike[str], what_it_is: str = "run file") -> str:
    """Return the text of a YAML file.

    Parameters
    ----------
    path : path
        The file.
    what_it_is : str
        What errors call it.

    Raises
    ------
    ConfigError
        If it cannot be read, or is no such text.
    """
    path = Path(path)
    data = _read_bytes(path, what_it_is)
    if len(data) > MAX_BYTES:
        what = f"the {what_it_is} is larger than {MAX_BYTES / 1e6:g} MB"
        raise ConfigError(what, where=path, fix="name the YAML file, not a data file")
    if b"\0" in data and not data.startswith((b"\xff\xfe", b"\xfe\xff")):
        what = f"the {what_it_is} is not a text file"
        raise ConfigError(what, where=path, fix="name the YAML file, not a raster or a database")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as exc:
        line = data.count(b"\n", 0, exc.start) + 1
        where = f"{path}, line {line}"
        what = f"the {what_it_is} is not written in UTF-8"
        raise ConfigError(what, where=where, fix="save it as UTF-8 in your text editor") from exc


def _read_bytes(path: Path, what_it_is: str) -> bytes:
    try:
        _check_is_file(path, what_it_is)
        with path.open("rb") as file:
            return file.read(MAX_BYTES + 1)
    except OSError as exc:
        what = f"the {what_it_is} cannot be read ({exc.strerror})"
        raise ConfigError(what, where=path, fix="check its name, and who may read it") from exc


def _check_is_file(path: Path, what_it_is: str) -> None:
    try:
        mode = path.stat().st_mode  # `exists` hides other errors since Python 3.14
    except (FileNotFoundError, NotADirectoryError, ValueError) as exc:
        what = f"there is no such {what_it_is}"
        raise ConfigError(what, where=path, fix=_look_alike(path)) from exc
    if stat.S_ISDIR(mode):
        what = f"the {what_it_is} is a folder"
        raise ConfigError(what, where=path, fix="name the YAML file in it")
    if not stat.S_ISREG(mode):  # reading a pipe might never end
        what = f"the {what_it_is} is a device or a pipe"
        raise ConfigError(what, where=path, fix="save the settings in a file, and name it")


def _look_alike(path: Path) -> str:
    if not path.parent.is_dir():
        return "its folder does not exist either: check the path"
    beside = [each.name for each in path.parent.iterdir()]
    runs = [name for name in beside if name.lower().endswith((".yaml", ".yml"))]
    near = difflib.get_close_matches(path.name, runs, n=1, cutoff=0.6)
    return f"did you mean {near[0]}, in the same folder?" if near else "check its name"
