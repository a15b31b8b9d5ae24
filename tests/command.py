"""The command as a user runs it: in a process of its own, and what it may not do when it fails."""

import contextlib
import os
import subprocess
import sys
from pathlib import Path

from ready_commands import environment, ready

COMMAND = (
    sys.executable,
    "-c",
    "import sys; from suitability.cli import main; sys.argv[0] = 'suitability'; main()",
)


TIMEOUT_S = 300
_OF_ITS_OWN = ("--workers", "--scheduler")  # workers begin as processes of a whole command do


def run(*arguments, cwd=None):
    """Return the ended process of `suitability` with these arguments, its output as text."""
    words = [*map(str, arguments)]
    alone = any(word in _OF_ITS_OWN for word in words)
    if not alone and ready().environment == environment():
        code, out, err = ready().run(words, timeout=TIMEOUT_S, cwd=cwd)
        return subprocess.CompletedProcess(words, code, out, err)
    return subprocess.run(
        [*COMMAND, *words], capture_output=True, encoding="utf-8", timeout=TIMEOUT_S, cwd=cwd,
        check=False,
    )  # fmt: skip


def succeeded(*arguments, cwd=None):
    """Return what the command printed; it must end well and complain of nothing."""
    ended = run(*arguments, cwd=cwd)
    assert ended.returncode == 0, ended.stderr
    assert ended.stderr == ""
    return ended.stdout


def refused(*arguments, cwd=None):
    """Return the message of a command that must fail as a user's mistake does."""
    ended = run(*arguments, cwd=cwd)
    assert ended.returncode == 2, (ended.returncode, ended.stdout, ended.stderr)
    assert ended.stdout == ""
    assert "Traceback" not in ended.stderr
    return ended.stderr


def parts(message):
    """Return what is wrong, where, and the fix, of a message that must say all three."""
    what, where, fix = "", "", ""
    for line in message.rstrip("\n").split("\n"):
        if line.startswith("error: "):
            what = line.removeprefix("error: ")
        elif line.startswith("  where: "):
            where = line.removeprefix("  where: ")
        elif line.startswith("  fix:   "):
            fix = line.removeprefix("  fix:   ")
        else:
            raise AssertionError(line)
    assert what, message
    assert where, message
    assert fix, message
    return what, where, fix


def files_in(folder):
    """Return every file below a folder, hidden ones too, as paths from there."""
    folder = Path(folder)
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}


def results_in(folder):
    """Return every file below a folder but those that runs keep for later ones."""
    return {name for name in files_in(folder) if ".store/" not in f"/{name}"}


def written_since(began_ns, folder):
    """Return every file below a folder that was written since; it may be written into meanwhile."""
    found = set()
    for place, _, names in os.walk(folder):  # passes over folders that vanish
        for name in names:
            path = Path(place, name)
            with contextlib.suppress(FileNotFoundError):  # renamed meanwhile
                if path.stat().st_mtime_ns > began_ns:
                    found.add(path)
    return found
