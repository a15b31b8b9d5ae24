"""Files that are either whole or not there: written under another name, then renamed.

The name in the making starts with a dot and keeps its suffix, for drivers that go by it. It is
the same every time, so what a killed run leaves behind is swept away by the next one.
"""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

_BINDINGS = ("rasterio", "pyogrio")


@contextmanager
def written(path: str | os.PathLike[str], *, durable: bool = True) -> Iterator[Path]:
    """Yield a name to write to; on success the file takes its real name, else nothing stays.

    Parameters
    ----------
    path : path
        Where the finished file shall be; its folder is made when missing. What stood there
        stays until the new file is whole.
    durable : bool
        Wait until the disk has it; not worth it for what can be made again.

    Yields
    ------
    pathlib.Path
        A name in the same folder, hence on the same disk, so that the rename is one step.

    Raises
    ------
    OSError
        If it cannot be written, by the system's word or by that of a library.
    """
    final = Path(path)
    final.parent.mkdir(parents=True, exist_ok=True)
    temporary = _in_the_making(final)
    _sweep(temporary)
    try:
        yield temporary
        if durable:
            _flush(temporary, os.O_RDWR)
        os.replace(temporary, final)  # noqa: PTH105  replaces on every system, as the name says
        _sidecar(final).unlink(missing_ok=True)  # it would speak of the file that stood there
        if durable and os.name == "posix":
            _flush(final.parent, os.O_RDONLY)  # the new name itself is kept in the folder
    except Exception as exc:
        # A full disk is no OSError to GDAL's bindings.
        if isinstance(exc, OSError) or not type(exc).__module__.startswith(_BINDINGS):
            raise
        raise OSError(errno.EIO, str(exc), str(final)) from exc
    finally:
        _sweep(temporary)


def write_text(path: str | os.PathLike[str], text: str, *, encoding: str = "utf-8") -> None:
    """Write a text file whole, its line ends as they are.

    Parameters
    ----------
    path : path
        Where to.
    text : str
        What to write.
    encoding : str
        How to write it.
    """
    with written(path) as temporary:
        temporary.write_bytes(text.encode(encoding))


def remove(path: str | os.PathLike[str]) -> None:
    """Take away a file if it is there, with what lies beside it and what a killed run left of it.

    Parameters
    ----------
    path : path
        The finished file.
    """
    final = Path(path)
    if final.parent.is_dir():
        _sweep(_in_the_making(final))
        final.unlink(missing_ok=True)
        _sidecar(final).unlink(missing_ok=True)


def _in_the_making(final: Path) -> Path:
    return final.with_name(f".{final.stem}.part{final.suffix}")


def _sidecar(path: Path) -> Path:
    """Return the file in which GDAL keeps what a format cannot hold."""
    return path.with_name(path.name + ".aux.xml")


def _sweep(temporary: Path) -> None:
    """Remove a file in the making and what drivers lay beside it (.aux.xml, -journal, .ovr)."""
    for left in temporary.parent.iterdir():
        if left.name.startswith(temporary.name):
            left.unlink()


def _flush(path: Path, flags: int) -> None:
    """Wait until the disk has it, or a power cut could leave the new name on an empty file."""
    handle = os.open(path, flags)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
