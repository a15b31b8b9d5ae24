"""How much memory a run may take: as people write it, as the machine has it, as it is limited."""

import math
import subprocess
import sys
from pathlib import Path

import pytest
import small_land
from command import parts

from suitability.errors import ConfigError
from suitability.memory import (
    LEAST_ADDRESSES,
    LEAST_DATA,
    _machine_bytes,
    default_memory,
    group_limit,
    memory_bytes,
)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("800MB", 800e6),
        ("2GB", 2e9),
        ("2 gb", 2e9),
        ("2G", 2e9),
        ("1.5 GiB", 1.5 * 1024**3),  # IEC 80000-13: binary prefixes
        ("512MiB", 512 * 1024**2),
        (" 640 M ", 640e6),
    ],
)
def test_memory_is_read_as_people_write_it(text, expected):
    assert memory_bytes(text) == expected


@pytest.mark.parametrize(
    "text", ["", "2", "GB", "-2GB", "0GB", "0.0 MB", "2TB", "2 kB", "1,5 GB", "2GB2", "nan GB"]
)
def test_what_is_no_amount_is_told(text):
    with pytest.raises(ConfigError, match="is no amount of memory") as caught:
        memory_bytes(text)
    assert "2GB" in caught.value.fix
    assert "--memory" in caught.value.where


@pytest.mark.skipif(not Path("/proc/meminfo").exists(), reason="what the machine itself says")
def test_the_machine_has_what_it_says():
    first = Path("/proc/meminfo").read_text().splitlines()[0]
    assert first.startswith("MemTotal:")
    assert _machine_bytes() == pytest.approx(int(first.split()[1]) * 1024, rel=0.01)


# --- limits of a group of processes: cgroups(7) ---------------------------------------------------


def write(folder: Path, name: str, text: str) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / name).write_text(text, encoding="ascii")


def test_the_narrowest_group_around_a_process_counts(tmp_path):
    write(tmp_path / "user.slice/user-1000.slice", "memory.max", "3000000000\n")
    write(tmp_path / "user.slice/user-1000.slice/job", "memory.max", "max\n")
    write(tmp_path / "other", "memory.max", "1000000\n")
    assert group_limit("0::/user.slice/user-1000.slice/job\n", tmp_path) == 3e9
    assert group_limit("0::/user.slice\n", tmp_path) == math.inf
    write(tmp_path / "user.slice/user-1000.slice/job", "memory.max", "2000000000\n")
    assert group_limit("0::/user.slice/user-1000.slice/job\n", tmp_path) == 2e9


FIRST = """\
9:name=systemd:/
5:devices:/docker/0a1b
4:memory,hugetlb:/docker/0a1b
1:cpu:/
0::/
"""


def test_groups_of_the_first_version_are_read_too(tmp_path):
    whole = tmp_path / "memory"
    write(whole, "memory.limit_in_bytes", "9223372036854771712\n")  # as an unlimited one says
    assert group_limit(FIRST, tmp_path) == 9223372036854771712
    write(whole / "docker/0a1b", "memory.limit_in_bytes", "1500000000\n")
    assert group_limit(FIRST, tmp_path) == 1.5e9


def test_in_a_container_the_folder_of_groups_is_its_own(tmp_path):
    write(tmp_path / "memory", "memory.limit_in_bytes", "1500000000\n")  # no docker/0a1b is seen
    assert group_limit(FIRST, tmp_path) == 1.5e9
    write(tmp_path, "memory.max", "1200000000\n")
    assert group_limit("0::/../0a1b\n", tmp_path) == 1.2e9


@pytest.mark.parametrize("own", ["", "nonsense", "4:memory", "0::/\n", "::", "4:cpu:/a"])
def test_no_limit_is_taken_from_what_does_not_tell_one(tmp_path, own):
    assert group_limit(own, tmp_path) == math.inf


# --- limits of the process ------------------------------------------------------------------------

# A new process under a limit of its own, before anything of ours is loaded.
LIMITED = """\
import resource, sys
kind, most = getattr(resource, sys.argv.pop(1)), int(float(sys.argv.pop(1)))
resource.setrlimit(kind, (most, resource.getrlimit(kind)[1]))
from suitability import {of}
"""
KINDS = [("RLIMIT_DATA", LEAST_DATA, "ulimit -d"), ("RLIMIT_AS", LEAST_ADDRESSES, "ulimit -v")]
needs_linux = pytest.mark.skipif(sys.platform != "linux", reason="limits of memory as in Linux")


def limited(code: str, kind: str, most: float, *args: object) -> subprocess.CompletedProcess[str]:
    """Run Python under a limit, and return what it printed."""
    return subprocess.run(
        [sys.executable, "-c", code, kind, str(most), *map(str, args)],
        capture_output=True, encoding="utf-8", timeout=300, check=False,
    )  # fmt: skip


COMMAND = LIMITED.format(of="cli") + "sys.argv[0] = 'suitability'\ncli.main()\n"


@needs_linux
@pytest.mark.parametrize(("kind", "least", "how"), KINDS)
def test_a_process_that_may_have_too_little_is_refused_at_once(tmp_path, kind, least, how):
    run_file = small_land.write_land(tmp_path / "land")
    for share in (0.1, 0.3, 0.6, 0.99):
        ended = limited(COMMAND, kind, share * least, "screen", run_file, "--out", tmp_path / "out")
        assert ended.returncode == 2, ended.stderr
        what, where, fix = parts(ended.stderr)
        assert f"{share * least / 1e6:.0f} MB" in what
        assert where == how
        assert f"{least / 1024:.0f}" in fix
        assert not (tmp_path / "out").exists()


@needs_linux
@pytest.mark.parametrize(("kind", "least", "how"), KINDS)
def test_help_needs_little(kind, least, how):
    ended = limited(COMMAND, kind, 0.1 * least, "screen", "--help")
    assert ended.returncode == 0, ended.stderr
    assert "--memory" in ended.stdout


@needs_linux
@pytest.mark.parametrize(("kind", "least", "how"), KINDS)
def test_what_is_allowed_is_enough_for_a_run(tmp_path, kind, least, how):
    run_file = small_land.write_land(tmp_path / "land")
    args = ("screen", run_file, "--out", tmp_path / "out", "--memory", "1GB")
    ended = limited(COMMAND, kind, least, *args)
    assert ended.returncode == 0, ended.stderr
    assert (tmp_path / "out" / "run.json").exists()


@needs_linux
@pytest.mark.parametrize(("kind", "least", "how"), KINDS)
def test_a_run_takes_half_of_its_limit_unless_it_is_told(kind, least, how):
    code = LIMITED.format(of="memory") + "print(memory.default_memory())"
    assert float(limited(code, kind, least).stdout) == 0.5 * least
    assert default_memory() <= 0.5 * _machine_bytes()
