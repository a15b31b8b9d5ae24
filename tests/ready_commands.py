"""Commands from a process that has loaded what they need: most of a short one's time is loading.

Each command still runs in a process of its own, forked from one that has done nothing but import.
"""

import contextlib
import gc
import json
import os
import select
import subprocess
import sys
import tempfile
from functools import lru_cache
from pathlib import Path

LOADED = (
    "pint",
    "suitability.cli",
    "suitability.commands.screen",
    "suitability.explain",
    "suitability.follow_up",
    "suitability.robustness",
    "suitability.run",
)
# Told by pytest to its own processes, and to nobody else.
_PASSING = ("PYTEST_",)


class Ready:
    """A process that forks one for each command, and its way to say so.

    Its environment is that of the tests when it began; a command that shall have another needs a
    process that begins with it.
    """

    def __init__(self):
        self.environment = environment()
        self.process = subprocess.Popen(
            [sys.executable, __file__], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )

    def run(self, words, *, timeout, cwd=None):
        """Return exit code, output and errors of `suitability` with these words."""
        with tempfile.TemporaryDirectory() as folder:
            files = [str(Path(folder, name)) for name in ("out", "err")]
            asked = [list(words), str(cwd or Path.cwd()), *files]
            self.process.stdin.write(json.dumps(asked) + "\n")
            self.process.stdin.flush()
            if not select.select([self.process.stdout], [], [], timeout)[0]:
                self.process.kill()
                ready.cache_clear()
                raise subprocess.TimeoutExpired(words, timeout)
            code = int(self.process.stdout.readline())
            return (code, *(Path(file).read_text("utf-8") for file in files))


@lru_cache(maxsize=1)
def ready():
    """Return the process that commands are forked from, started when first asked for."""
    return Ready()


def environment():
    """Return the environment that a command would get."""
    return {name: text for name, text in os.environ.items() if not name.startswith(_PASSING)}


def _serve():
    for module in LOADED:
        __import__(module)
    gc.freeze()  # what is loaded is shared with the processes to come, as long as none touches it
    for line in sys.stdin:
        words, cwd, out, err = json.loads(line)
        child = os.fork()
        if not child:
            os._exit(_command(words, cwd, out, err))
        _, status = os.waitpid(child, 0)
        sys.stdout.write(f"{os.waitstatus_to_exitcode(status)}\n")
        sys.stdout.flush()


def _command(words, cwd, out, err):
    from suitability.cli import main

    for number, name in ((0, os.devnull), (1, out), (2, err)):
        file = os.open(name, os.O_RDWR | os.O_CREAT, 0o600)
        os.dup2(file, number)
        os.close(file)
    os.chdir(cwd)
    sys.argv = ["suitability", *words]
    try:
        main()
        code = 0
    except SystemExit as ended:
        code = ended.code if isinstance(ended.code, int) else int(ended.code is not None)
    except BaseException:
        sys.excepthook(*sys.exc_info())
        code = 1
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(OSError, ValueError):
            stream.flush()
    return code


if __name__ == "__main__":
    _serve()
