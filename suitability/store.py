"""What a run keeps in its folder: measured layers that a later run may use, and finished tiles.

Layers are used again only under the same key: the content of the inputs, the grid, what was asked
of the measuring, and the code that measured. The store can be deleted at any time.
"""

from __future__ import annotations

import hashlib
import json
import os
import secrets
import shutil
import urllib.request
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import filelock

from suitability.config import LoadedRun
from suitability.config.inputs import input_files, land_files
from suitability.config.paths import is_local
from suitability.errors import InputError, ResultError
from suitability.grid import Grid, Window
from suitability.outputs.atomic import write_text
from suitability.outputs.rasters import RELIEF, read_tags
from suitability.outputs.record import file_hash, file_stamps

KEY_TAG = "MEASURED_BY"

# Sections of the run file that measured layers depend on.
_MEASURED = ("inputs", "mount", "season", "sun", "water", "foraging", "layers")


@dataclass(frozen=True)
class Store:
    """Where a run keeps what it has measured.

    Parameters
    ----------
    folder : pathlib.Path
        The run's folder.
    key : str
        What the layers depend on, as a hash.
    side : int
        Cells along a tile: parts of another tiling do not fit.
    """

    folder: Path
    key: str
    side: int

    @property
    def hidden(self) -> Path:
        """The folder of what is no result."""
        return self.folder / ".store"

    @property
    def look(self) -> Path:
        """The file of the coarse look at the land."""
        return self.hidden / f"look-{self.key[:24]}.npz"

    def part(self, name: str, window: Window) -> Path:
        """Return the file of a layer's part."""
        return self._tile(window) / f"{name}.tif"

    def finished(self, window: Window) -> dict[str, Any] | None:
        """Return what was noted of a finished tile, or None if a part of it is not there, whole."""
        notes = _read_json(self._tile(window) / "tile.json")
        sizes = {} if notes is None else notes["part_bytes"]
        return notes if sizes and sizes.items() <= self._sizes(window).items() else None

    def finish(self, window: Window, notes: Mapping[str, Any]) -> None:
        """Note that all parts of a tile are written, and how large they are.

        Nobody waits until the disk has them: the note may outlive them in a power cut.
        """
        noted = {**notes, "part_bytes": self._sizes(window)}
        write_text(self._tile(window) / "tile.json", json.dumps(noted))

    def measured(self, names: list[str]) -> dict[str, Any] | None:
        """Return what was noted of the layers, if all of them stand and bear the key; else None."""
        notes = _read_json(self.hidden / "measured.json")
        if notes is None or notes.get("key") != self.key:
            return None
        for name in names:
            try:
                if read_tags(self.layer(name)).get(KEY_TAG) != self.key:
                    return None
            except InputError:
                return None
        return notes

    def note_measured(self, notes: Mapping[str, Any]) -> None:
        """Note that all layers are written; their parts are no longer needed."""
        write_text(self.hidden / "measured.json", json.dumps({"key": self.key, **notes}))

    def layer(self, name: str) -> Path:
        """Return the file of a whole layer."""
        return self.folder / "layers" / f"{name}.tif"

    def forget(self) -> None:
        """Delete what was noted of layers and all parts, so that everything is measured anew."""
        (self.hidden / "measured.json").unlink(missing_ok=True)
        (self.folder / RELIEF).unlink(missing_ok=True)
        self.look.unlink(missing_ok=True)
        self.sweep(keep_own=False)

    def sweep(self, *, keep_own: bool) -> None:
        """Delete what other runs left to later ones: parts, or all parts, and their looks."""
        for kept in set(self.hidden.glob("look-*.npz")) - {self.look}:
            kept.unlink()
        for place in (self.hidden / "parts").glob("*"):
            if not (keep_own and place.name == self._own):
                shutil.rmtree(place)

    @property
    def _own(self) -> str:
        return f"{self.key[:24]}-{self.side}"

    def _sizes(self, window: Window) -> dict[str, int]:
        """Return the sizes of a tile's parts. [bytes]."""
        return {part.name: part.stat().st_size for part in self._tile(window).glob("[!.]*.tif")}

    def _tile(self, window: Window) -> Path:
        return self.hidden / "parts" / self._own / f"{window.row}_{window.col}"


@contextmanager
def only_run(folder: Path, made: Sequence[Path] = ()) -> Iterator[None]:
    """Hold a folder for one run; the system lets go of it when the process ends, however it ends.

    A run that is refused before it has written anything leaves nothing.

    Parameters
    ----------
    folder : pathlib.Path
        The run's folder.
    made : sequence of pathlib.Path
        It and those above it, if they were made for this run, the inmost first.

    Raises
    ------
    ResultError
        If another run is at work in the folder.
    """
    (folder / ".store").mkdir(parents=True, exist_ok=True)
    lock = filelock.FileLock(folder / ".store" / "lock")
    try:
        lock.acquire(timeout=0)
    except filelock.Timeout as exc:
        msg = "another run is at work in this folder"
        raise ResultError(msg, where=folder, fix="wait for it, or choose another --out") from exc
    try:
        yield
    finally:
        if [*(folder / ".store").iterdir()] == [folder / ".store" / "lock"]:
            shutil.rmtree(folder / ".store")
            for place in made:
                with suppress(OSError):  # not empty: there is something in it
                    place.rmdir()
        lock.release()


def input_hashes(run: LoadedRun) -> dict[str, str | None]:
    """Return what tells each input's content: its SHA-256, or a web server's word for its state.

    None for what can be neither summed nor asked about, such as a file in an archive or a bucket.
    """
    return {path: content_of(path) for path in input_files(run.settings)}


def input_stamps(run: LoadedRun) -> dict[str, tuple[int, int, int]]:
    """Return what shows that a local input was written to, by the files that it is made of."""
    stamps: dict[str, tuple[int, int, int]] = {}
    for path in filter(is_local, input_files(run.settings)):
        with suppress(InputError):  # who reads it says what is wrong, and in which line
            stamps |= file_stamps(path)
    return stamps


def require_unchanged(stamps: Mapping[str, tuple[int, int, int]]) -> None:
    """Refuse to go on where an input is no longer what it was: parts of the run saw another.

    Parameters
    ----------
    stamps : mapping
        As `input_stamps` gave them before the first of them was read.

    Raises
    ------
    InputError
        If an input was written to, replaced or taken away.
    """
    for file, stamp in stamps.items():
        if file_stamps(file).get(file) != stamp:
            msg = "this input changed while the run was at work, so that nothing fits together"
            raise InputError(msg, where=file, fix="run again when nothing writes to it")


def content_of(path: str) -> str | None:
    """Return what tells an input's content, or None; see `input_hashes`."""
    if is_local(path):
        return file_hash(path)
    address = path.removeprefix("/vsicurl/")
    if not address.startswith(("http://", "https://")):
        return None
    ask = urllib.request.Request(address, method="HEAD")
    try:
        with urllib.request.urlopen(ask, timeout=10) as answer:
            told = [answer.headers.get(name) for name in ("ETag", "Last-Modified")]
            size = answer.headers.get("Content-Length")
    except (OSError, ValueError):
        return None  # opening it says what is wrong
    state = next((mark for mark in told if mark), None)
    return None if state is None else f"{state} {size}"


def measuring_key(
    run: LoadedRun,
    grid: Grid,
    hashes: Mapping[str, str | None],
    reach_m: Mapping[str, float],
    boxes: Mapping[str, Any],
) -> str:
    """Return a hash of all that measured layers depend on; files by content, wherever they lie.

    Weather counts only where the heat of `boxes` is measured: what is known of them, by layer.
    """
    weather = run.settings.inputs.weather
    warm = hashes[weather.path] if weather is not None and boxes else ""
    hashes = {path: hashes[path] for path in land_files(run.settings)}
    asked = run.settings.model_dump(mode="json", exclude={"inputs": {"weather"}})
    settings = _by_content(asked, hashes)
    # What an input holds may be beyond telling; then no other run's layers are its layers.
    once = secrets.token_hex() if None in (*hashes.values(), warm) else ""
    depends = {
        "code": code_hash(),
        "grid": [grid.crs.to_wkt(), grid.west, grid.north, grid.cell_m, grid.rows, grid.cols],
        "once": once,
        "files": len(hashes),
        "settings": {part: settings[part] for part in _MEASURED},
        "reach_m": reach_m,
        "heat": [warm, boxes],
    }
    return hashlib.sha256(json.dumps(depends, sort_keys=True).encode()).hexdigest()


def _by_content(settings: Any, hashes: Mapping[str, str | None]) -> Any:
    """Return settings with the path of every input replaced by what tells its content."""
    if isinstance(settings, Mapping):
        return {key: _by_content(value, hashes) for key, value in settings.items()}
    if isinstance(settings, list):
        return [_by_content(value, hashes) for value in settings]
    return hashes.get(settings, settings) if isinstance(settings, str) else settings


@lru_cache(maxsize=1)
def code_hash() -> str:
    """Return a hash of the package's source files: another code may measure otherwise."""
    root = Path(__file__).parent
    total = hashlib.sha256()
    for path in sorted(root.rglob("*")):
        if path.suffix in (".py", ".yaml"):
            total.update(path.relative_to(root).as_posix().encode() + b"\0" + path.read_bytes())
    return total.hexdigest()


def _read_json(path: Path) -> dict[str, Any] | None:
    """Return a JSON mapping; None if there is none or it is damaged, for a store may be both."""
    try:
        found = json.loads(path.read_bytes())
    except (OSError, ValueError):
        return None
    return found if isinstance(found, dict) else None


def free_bytes(folder: Path) -> int:
    """Return the room left where a folder lies or would lie. [bytes]."""
    there = next(place for place in (folder, *folder.absolute().parents) if place.exists())
    return shutil.disk_usage(os.fspath(there)).free
