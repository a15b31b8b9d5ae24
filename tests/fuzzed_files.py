"""Files cut or damaged at random: each is read right or refused in words, whatever was done to it.

A worker is a process of its own: what crashes in a library's C code takes the worker down, not
whoever counts. Run as a script it takes a kind, a seed and case numbers, and tells of each case in
a line of JSON; `outcomes` starts workers and names what killed one or held it up.
"""

from __future__ import annotations

import hashlib
import json
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
import traceback
import warnings
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
HELD_UP_S = 60  # a case takes some hundredths of a second
# The kind of file, and which of the land's files are damaged.
KINDS = {
    "geotiff": ("dem.tif", "cover.tif"),
    "geopackage": ("streams.gpkg",),
    "geojson": ("streams.geojson",),
    "shapefile": tuple(f"streams.{suffix}" for suffix in ("shp", "shx", "dbf", "prj", "cpg")),
    "weather": ("station.epw",),
    "run file": ("run.yaml",),
    "curve table": ("curve.csv",),
    "legend": ("legend.yaml",),
    "prices": ("prices.yaml",),
    "record": ("run.json",),
    "results": ("candidates.tif", "excluded.tif", "layers/water_distance_m.tif", "sites.gpkg",
                "features.gpkg", "horizons.csv", "relief.tif"),
}  # fmt: skip
# Whoever cuts these off is found out: what is read of the rest must be what was there.
_TELLS_ITS_END = ("geotiff", "geojson", "weather", "record")
_NUMBERS = (b"1e999", b"-1", b"0", b"nan", b"", b"99999999999999999999", b"0x10", b"1,5", b"null")
_CLIPPED = 300


def damaged(data: bytes, rng: random.Random) -> tuple[bytes, str]:  # noqa: PLR0911
    """Return a file's bytes after one accident, and what it was."""
    size = len(data)
    # Half of all accidents fall near the beginning, where formats say what follows.
    near = min(size, 512 if rng.random() < 0.5 else size)
    at = rng.randrange(max(1, near))
    length = rng.choice((1, 4, 64, 1024))
    match rng.choice(("cut", "bits", "noise", "zeros", "lost", "again", "number", "swapped")):
        case "cut":
            keep = rng.choice((at, rng.randrange(size + 1), max(0, size - length)))
            return data[:keep], "cut"
        case "bits":
            changed = bytearray(data)
            for _ in range(rng.choice((1, 2, 8))):
                if changed:
                    changed[rng.randrange(max(1, near))] ^= 1 << rng.randrange(8)
            return bytes(changed), "bits"
        case "noise":
            return data[:at] + rng.randbytes(length) + data[at + length :], "noise"
        case "zeros":
            return data[:at] + bytes(min(length, size - at)) + data[at + length :], "zeros"
        case "lost":
            return data[:at] + data[at + length :], "lost"
        case "again":
            return data[:at] + data[at : at + length] * 2 + data[at + length :], "again"
        case "number":
            found = list(re.finditer(rb"-?\d+(\.\d+)?", data[: max(near, 4096)]))
            if not found:
                return data[:at], "cut"
            number = rng.choice(found)
            return data[: number.start()] + rng.choice(_NUMBERS) + data[number.end() :], "number"
        case _:
            other = rng.randrange(max(1, size))
            first, second = sorted((at, other))
            one, two = data[first : first + 16], data[second : second + 16]
            return data[:first] + two + data[first + 16 : second] + one + data[second + 16 :], (
                "swapped"
            )


def altered(text: bytes, rng: random.Random) -> tuple[bytes, str]:
    """Return JSON that is whole, yet one value somewhere in it is gone or another."""
    whole = json.loads(text)
    inner: Any = whole
    while True:
        keys = list(inner) if isinstance(inner, dict) else list(range(len(inner)))
        key = rng.choice(keys)
        if not isinstance(inner[key], dict | list) or not inner[key] or rng.random() < 0.3:
            break
        inner = inner[key]
    if rng.random() < 0.4:
        del inner[key]
    else:
        odd = (None, [], {}, "", "x", -1, 1e308, True, "../../x", [[]], {"a": 1}, 0)
        inner[key] = rng.choice(odd)
    return json.dumps(whole).encode(), "altered"


def outcomes(kind: str, cases: range, seed: int, land: Path) -> Iterator[dict[str, Any]]:
    """Yield what became of each case: one of `read`, `refused` or what must not be.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    cases : range
        Their numbers; a number and a seed make the same damage each time.
    seed : int
        Another one, other damage.
    land : pathlib.Path
        What `make` made.
    """
    following = cases.start
    while following < cases.stop:
        told = 0
        for outcome in _worker(kind, range(following, cases.stop), seed, land):
            told += 1
            yield outcome
        following += told
        if told == 0:
            msg = f"no case of {kind!r} could be begun"
            raise AssertionError(msg)


def _worker(kind: str, cases: range, seed: int, land: Path) -> Iterator[dict[str, Any]]:
    words = [sys.executable, __file__, kind, str(seed), str(cases.start), str(cases.stop), land]
    with (
        tempfile.TemporaryFile("w+", encoding="utf-8") as said,
        tempfile.TemporaryFile("w+", encoding="utf-8") as errors,
        subprocess.Popen(words, stdout=said, stderr=errors, cwd=HERE.parent) as process,
    ):
        seen, moved, following = 0, time.monotonic(), cases.start
        ended = False
        while not ended:
            ended = process.poll() is not None
            said.seek(seen)
            for line in said.read().splitlines(keepends=True):
                if line.endswith("\n"):
                    seen += len(line.encode())
                    if not line.startswith('{"kind"'):  # a library's own word
                        continue
                    moved, following = time.monotonic(), following + 1
                    yield json.loads(line)
            if not ended and time.monotonic() - moved > HELD_UP_S:
                process.kill()
                process.wait()
                yield {"kind": kind, "case": following, "is": "held up", "of": "", "by": ""}
                return
            time.sleep(0.02)
        if process.returncode != 0:
            errors.seek(0)
            yield {"kind": kind, "case": following, "is": "crashed", "of": "", "by": "",
                   "told": f"exit {process.returncode}: {errors.read()[-_CLIPPED:]}"}  # fmt: skip


# --- in the worker ----------------------------------------------------------------------------


def make(folder: Path) -> Path:
    """Write land with a file of each kind, screened once; return its folder."""
    import geopandas as gpd
    import small_land
    from command import succeeded

    sample = HERE.parent / "sample_area"
    land = folder / "land"
    small_land.write_land(land)
    for name, values in (("dem.tif", small_land.heights()), ("cover.tif", small_land.cover())):
        small_land.write_raster(land / name, values, compress="deflate", nodata=255)
    streams = gpd.read_file(land / "streams.gpkg")
    streams.to_file(land / "streams.geojson")
    streams.to_file(land / "streams.shp", encoding="utf-8")
    shutil.copy(sample / "weather.epw", land / "station.epw")
    (land / "curve.csv").write_text("water_distance_m,value\n0,1\n100,0.8\n400,0.3\n900,0\n")
    legend = HERE.parent / "suitability" / "inputs" / "legends" / "nlcd.yaml"
    shutil.copy(legend, land / "legend.yaml")
    shutil.copy(HERE.parent / "configs" / "budget.yaml", land / "prices.yaml")
    succeeded("screen", land / "run.yaml", "--out", land / "out")
    return land


def run_text(kind: str) -> str:
    """Return the run file of a kind."""
    import small_land

    text = small_land.RUN
    match kind:
        case "geojson":
            return text.replace("streams.gpkg", "streams.geojson")
        case "shapefile":
            return text.replace("streams.gpkg", "streams.shp")
        case "weather":
            return text.replace("season:", "  weather: station.epw\nseason:")
        case "legend":
            return text.replace("cover.tif", "{path: cover.tif, legend: legend.yaml}")
        case "curve table":
            return text + (
                "criteria:\n  - {layer: water_distance_m, weight: 1, value: {table: curve.csv}}\n"
            )
    return text


def _digest(parts: list[Any]) -> str:
    total = hashlib.sha256()
    for part in parts:
        total.update(part if isinstance(part, bytes) else repr(part).encode())
    return total.hexdigest()


def _read_land(folder: Path) -> str:
    """Read all inputs as `check` and `screen` do; return a hash of what was read."""
    from gathered import gathered

    from suitability.climate import with_weather
    from suitability.config import load_run
    from suitability.inputs.preflight import preflight
    from suitability.plan import checked_judgement, reaches_of

    run = load_run(folder / "run.yaml")
    weathered = with_weather(run)
    run = weathered.run
    preflight(run.settings, run.locate, reaches_of(run, checked_judgement(run)))
    found = gathered(run)
    weather = weathered.weather
    hours = [] if weather is None else [weather.air_c.tobytes(), weather.ghi.tobytes()]
    curves = [repr(c.value) for c in checked_judgement(run).criteria]
    rasters = found.rasters
    return _digest([
        found.grid.bounds, found.grid.label, rasters.ground.tobytes(), rasters.canopy.tobytes(),
        found.water.tobytes(), *hours, *curves,
    ])  # fmt: skip


def _read_settings(folder: Path) -> str:
    from suitability.config import load_run

    return _digest([load_run(folder / "run.yaml").settings.model_dump_json()])


def _read_prices(folder: Path) -> str:
    from suitability.budget import propose

    return _digest([propose(folder / "out", folder / "prices.yaml", folder / "budget.csv").rows])


def _read_run(folder: Path) -> str:
    """Ask a finished run what commands ask of it."""
    from suitability.explain import explain_at, explain_site
    from suitability.finished import FinishedRun
    from suitability.methods import methods_of
    from suitability.summary import summarize

    run = FinishedRun.of(folder / "out")
    sites = run.sites
    x_m, y_m = sites["x_m"].to_numpy(float), sites["y_m"].to_numpy(float)
    asked = [run.measures(layer, x_m, y_m).tobytes() for layer in run.layers]
    score, bits, _ = run.small(2)
    relief = run.relief()
    at = map(float, run.grid.lonlat(*run.grid.centre))
    return _digest([
        run.title, run.dated_name, run.quantities.units, run.grid, run.reasons, sites.to_json(),
        *asked, score.tobytes(), bits.tobytes(), relief and relief[0].tobytes(),
        [(shapes := run.features(kind)) is not None and shapes.to_json()
         for kind in ("water", "boundary", "buildings")],
        run.horizon(1).tobytes(), run.cautions(1), run.advice(1),
        explain_site(run.folder, 1), explain_at(run.folder, *at),
        methods_of(run), summarize(run.folder, to=folder / "summary.csv").pieces,
    ])  # fmt: skip


READERS: dict[str, Callable[[Path], str]] = {
    **dict.fromkeys(KINDS, _read_land),
    "run file": _read_settings,
    "prices": _read_prices,
    "record": _read_run,
    "results": _read_run,
}


def attempt(read: Callable[[Path], str], folder: Path) -> tuple[str, str]:
    """Return what becomes of reading: `read` and a hash, `refused` and words, or a fault."""
    from rasterio.errors import NotGeoreferencedWarning

    from suitability.errors import SuitabilityError

    with warnings.catch_warnings():
        warnings.simplefilter("error")
        warnings.simplefilter("ignore", NotGeoreferencedWarning)  # an error comes after it
        try:
            return "read", read(folder)
        except SuitabilityError as error:
            if not (error.what and (error.where or re.search(r"line \d+", error.what))):
                return "refused without a place", str(error)
            return "refused", str(error)
        except Exception as exc:
            where = traceback.extract_tb(exc.__traceback__)
            own = [
                f"{Path(f.filename).name}:{f.lineno}" for f in where if "suitability" in f.filename
            ]
            return "fault", f"{type(exc).__name__}: {str(exc)[:_CLIPPED]} at {', '.join(own[-4:])}"


def tried(kind: str, cases: range, seed: int, land: Path) -> Iterator[dict[str, Any]]:
    """Yield what becomes of each case, tried in this process; see `outcomes`."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(shutil.copytree(land, Path(scratch) / "land"))
        (folder / "run.yaml").write_text(run_text(kind), encoding="utf-8")
        read = READERS[kind]
        state, whole = attempt(read, folder)
        if state != "read":
            msg = f"{kind}: the whole files give {state}: {whole}"
            raise AssertionError(msg)
        names = [f"out/{n}" if kind in ("record", "results") else n for n in KINDS[kind]]
        kept = {name: (folder / name).read_bytes() for name in names}
        before = _listing(folder)
        for case in cases:
            rng = random.Random(f"{kind} {seed} {case}")
            name = rng.choice(names)
            how = altered if kind == "record" and rng.random() < 0.6 else damaged
            data, by = how(kept[name], rng)
            (folder / name).write_bytes(data)
            state, told = attempt(read, folder)
            if state == "read":
                state = "read as it was" if told == whole else "read otherwise"
                if state == "read otherwise" and by == "cut" and kind in _TELLS_ITS_END:
                    state = "cut off in silence"
            if left := _listing(folder) - before:
                state, told = "left something", ", ".join(sorted(left)[:3])
                for each in left:
                    (folder / each).unlink(missing_ok=True)
            (folder / name).write_bytes(kept[name])
            yield {"kind": kind, "case": case, "is": state, "of": name, "by": by, "told": told}


def _listing(folder: Path) -> set[str]:
    return {
        str(path.relative_to(folder))
        for path in folder.rglob("*")
        if path.is_file() and path.name not in ("budget.csv", "summary.csv")
    }


GOOD = ("read as it was", "read otherwise", "refused")

if __name__ == "__main__":
    sys.path.insert(0, str(HERE))
    _kind, _seed, _start, _stop, _land = sys.argv[1:]
    for _outcome in tried(_kind, range(int(_start), int(_stop)), int(_seed), Path(_land)):
        sys.stdout.write(json.dumps(_outcome) + "\n")
        sys.stdout.flush()
