"""How much memory a run may take: as people write it, as the machine has it, as it is limited."""

from __future__ import annotations

import math
import os
import re
from pathlib import Path

from suitability.errors import ConfigError, ResultError

# Below these a library in C may end the process, or wait for ever, while it is loaded: what runs
# of the sample area were seen to need under `prlimit`, rounded up. [bytes]
LEAST_DATA = 1e9
LEAST_ADDRESSES = 2e9

_GROUPS = Path("/sys/fs/cgroup")  # where Linux has a folder for each group of processes


def memory_bytes(text: str) -> float:
    """Return an amount of memory as people write it: 800MB, 2GB, 1.5 GiB. [bytes].

    Raises
    ------
    ConfigError
        If it is none.
    """
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*([MG])(i?)B?\s*", text, re.IGNORECASE)
    if match is None or float(match[1]) <= 0:
        msg = f"{text!r} is no amount of memory"
        raise ConfigError(msg, where="--memory", fix="write megabytes or gigabytes, such as 2GB")
    power = {"m": 2, "g": 3}[match[2].lower()]
    unit: float = (1024 if match[3] else 1000) ** power
    return float(match[1]) * unit


def default_memory() -> float:
    """Return what a run takes if it is not told: half of what the machine or a limit allows.

    Limits are those of the process (`ulimit -d`, `ulimit -v`) and of its control group, as
    containers have. [bytes].
    """
    return 0.5 * min(_machine_bytes(), group_limit(_own_groups(), _GROUPS), *_process_limits())


def require_memory() -> None:
    """Stop before anything is loaded if the process is limited to less than it needs.

    Raises
    ------
    ResultError
        If it is.
    """
    data, addresses = _process_limits()
    for limit, least, of, how in (
        (data, LEAST_DATA, "memory", "ulimit -d"),
        (addresses, LEAST_ADDRESSES, "addresses", "ulimit -v"),
    ):
        if limit < least:
            msg = f"this process is limited to {limit / 1e6:.0f} MB of {of}, which are too little"
            fix = f"allow it {least / 1e9:g} GB or more: {least / 1024:.0f} for `{how}`"
            raise ResultError(msg, where=how, fix=fix)


def group_limit(own: str, groups: Path) -> float:
    """Return the least that a control group of this process, or one around it, allows. [bytes].

    Parameters
    ----------
    own : str
        The groups of the process, a line each: number, controllers and path parted by colons.
    groups : Path
        The folder of all groups.

    Returns
    -------
    float
        Infinite where nothing is limited or told.

    Notes
    -----
    Source: the manual page cgroups(7) of Linux, and the kernel's documents cgroup-v1/memory and
    cgroup-v2. In a container the path may be one of the machine around it, which is not seen
    within; then the folder of all groups is the container's own, so every folder on the way up to
    it is asked.
    """
    limits = [math.inf]
    for line in own.splitlines():
        number, _, rest = line.partition(":")
        controllers, _, path = rest.partition(":")
        if "memory" in controllers.split(","):
            folder, name = groups / "memory", "memory.limit_in_bytes"  # the first version
        elif number == "0" and not controllers:
            folder, name = groups, "memory.max"  # the second
        else:
            continue
        parts = [part for part in path.split("/") if part not in ("", "..")]
        for depth in range(len(parts) + 1):
            try:
                told = folder.joinpath(*parts[:depth], name).read_text(encoding="ascii").strip()
            except OSError:
                continue
            if told.isdecimal():  # else it says "max"
                limits.append(float(told))
    return min(limits)


def _own_groups() -> str:
    try:
        return Path("/proc/self/cgroup").read_text(encoding="utf-8")
    except OSError:  # not on every system
        return ""


def _machine_bytes() -> float:
    try:
        return float(os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE"))
    except (AttributeError, ValueError, OSError):  # not on every system
        return 8e9


def _process_limits() -> tuple[float, float]:
    """Return what the process may hold of data and of addresses; infinite if anything. [bytes]."""
    try:
        import resource  # noqa: PLC0415 - not on every system
    except ImportError:
        return math.inf, math.inf
    soft = (resource.getrlimit(kind)[0] for kind in (resource.RLIMIT_DATA, resource.RLIMIT_AS))
    data, addresses = (math.inf if one == resource.RLIM_INFINITY else float(one) for one in soft)
    return data, addresses
