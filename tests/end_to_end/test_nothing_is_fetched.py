"""Nothing is asked of any server unless the run file names an address; files that do are refused.

A server here counts whoever connects. What fetches in C (GDAL, PROJ) goes by libcurl, and that
by the proxies of the environment, so this server is the proxy; Python's own sockets are watched.
"""

from __future__ import annotations

import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from small_land import RUN, write_config, write_land

from suitability.config import LoadedRun, load_run
from suitability.config.sources import VectorSource
from suitability.errors import InputError
from suitability.grid import WGS84
from suitability.inputs.common import choose_grid
from suitability.inputs.gather import gather_features
from suitability.inputs.vector import read_layer

PROXIES = ("http_proxy", "https_proxy", "all_proxy", "HTTP_PROXY", "HTTPS_PROXY", "ALL_PROXY")


class Door:
    """A port on which every connection is counted and shut."""

    def __init__(self) -> None:
        self._socket = socket.create_server(("127.0.0.1", 0))
        self.address = f"http://127.0.0.1:{self._socket.getsockname()[1]}"
        self.knocks = 0
        threading.Thread(target=self._count, daemon=True).start()

    def _count(self) -> None:
        while True:
            try:
                caller, _ = self._socket.accept()
            except OSError:
                return
            self.knocks += 1
            caller.close()

    def shut(self) -> None:
        """Stop listening."""
        self._socket.close()


@pytest.fixture
def door(monkeypatch: pytest.MonkeyPatch) -> Iterator[Door]:
    made = Door()
    for name in PROXIES:
        monkeypatch.setenv(name, made.address)
    for name in ("no_proxy", "NO_PROXY"):
        monkeypatch.delenv(name, raising=False)
    yield made
    made.shut()


# Refuses and tells every look-up and connection but those of a process to itself.
WATCHED = """\
import sys

def watch(event, arguments):
    if event in ("socket.connect", "socket.getaddrinfo", "socket.sendto", "urllib.Request"):
        sys.stderr.write(f"asked: {event} {arguments}\\n")
        raise SystemExit(77)
    starts = event in ("subprocess.Popen", "os.system", "os.exec", "os.posix_spawn")
    if starts and arguments[0] != "uname":  # which Python's own `platform` asks for the processor
        sys.stderr.write(f"started: {event} {arguments}\\n")
        raise SystemExit(78)

sys.addaudithook(watch)
from suitability.cli import main
sys.argv[0] = "suitability"
main()
"""


def test_a_run_asks_nobody_and_starts_nothing(tmp_path: Path, door: Door) -> None:
    config = write_land(tmp_path)
    ended = subprocess.run(
        [sys.executable, "-c", WATCHED, "screen", str(config), "--out", str(tmp_path / "out")],
        capture_output=True, encoding="utf-8", timeout=120, check=False,
    )  # fmt: skip
    assert ended.returncode == 0, ended.stderr
    assert ended.stderr == ""
    assert door.knocks == 0


def read_both(run: LoadedRun) -> None:
    grid, _ = choose_grid(run.settings, run.locate)
    gather_features(run.settings, grid, run.locate, {"water_distance_m": 100.0})


VRT = """\
<VRTDataset rasterXSize="80" rasterYSize="60"><SRS>EPSG:32616</SRS>
<GeoTransform>500000, 5, 0, 4450000, 0, -5</GeoTransform>
<VRTRasterBand dataType="Float32" band="1"><SimpleSource>
<SourceFilename relativeToVRT="{relative}">{name}</SourceFilename><SourceBand>1</SourceBand>
</SimpleSource></VRTRasterBand></VRTDataset>
"""
WMS = """\
<GDAL_WMS><Service name="TMS"><ServerUrl>{door}/${{z}}/${{x}}/${{y}}.tif</ServerUrl></Service>
<DataWindow><UpperLeftX>500000</UpperLeftX><UpperLeftY>4450000</UpperLeftY>
<LowerRightX>500400</LowerRightX><LowerRightY>4449700</LowerRightY><SizeX>80</SizeX><SizeY>60</SizeY>
<TileLevel>0</TileLevel></DataWindow><Projection>EPSG:32616</Projection><BandsCount>1</BandsCount>
</GDAL_WMS>
"""
LAYER = """\
<OGRVRTDataSource><OGRVRTLayer name="streams"><SrcDataSource>{door}/streams.geojson</SrcDataSource>
</OGRVRTLayer></OGRVRTDataSource>
"""
SERVICE = "<OGRWFSDataSource><URL>{door}/wfs</URL></OGRWFSDataSource>"


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("dem.tif", VRT.format(relative=0, name="/vsicurl/{door}/dem.tif")),
        ("dem.tif", VRT.format(relative=0, name="{door}/dem.tif")),
        ("dem.tif", VRT.format(relative=1, name="inner.vrt")),
        ("dem.tif", WMS),
        ("streams.gpkg", LAYER),
        ("streams.gpkg", SERVICE),
    ],
    ids=["by curl", "by http", "two deep", "map service", "virtual layer", "feature service"],
)
def test_files_that_name_an_address_fetch_nothing(
    tmp_path: Path, door: Door, name: str, text: str
) -> None:
    config = write_land(tmp_path)
    inner = VRT.format(relative=0, name="{door}/dem.tif")
    (tmp_path / "inner.vrt").write_text(inner.replace("{door}", door.address))
    (tmp_path / name).write_text(text.replace("{door}", door.address).replace("{{", "{"))
    run = load_run(config)
    with pytest.raises(InputError, match="names an address") as caught:
        read_both(run)
    assert door.address in caught.value.what
    assert name in str(caught.value.where)
    assert door.knocks == 0


def test_what_a_virtual_raster_tells_of_itself_is_no_source(tmp_path: Path, door: Door) -> None:
    """Its metadata may name where data came from; its source lies beside it."""
    config = write_land(tmp_path, RUN.replace("dem.tif", "dem.vrt"))
    text = VRT.format(relative=1, name="dem.tif").replace(
        "</SRS>", f"</SRS><Metadata><MDI key='from'>{door.address}/dem</MDI></Metadata>"
    )
    (tmp_path / "dem.vrt").write_text(text)
    grid, _ = choose_grid(load_run(config).settings, str)
    assert grid.shape == (60, 80)
    assert door.knocks == 0


def test_an_address_in_the_run_file_is_asked(tmp_path: Path, door: Door) -> None:
    """The door is where whoever fetches comes by."""
    write_land(tmp_path)
    config = write_config(tmp_path, RUN.replace("dem.tif", f"{door.address}/dem.tif"))
    with pytest.raises(InputError, match="cannot be opened"):
        choose_grid(load_run(config).settings, str)
    assert door.knocks >= 1


KML = """\
<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE kml [<!ENTITY there SYSTEM "{door}/dtd"><!ENTITY here SYSTEM "file://{secret}">]>
<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Placemark><name>a&here;b&there;c</name>
<LineString><coordinates>-86.9995,40.1995 -86.9990,40.1990</coordinates></LineString>
</Placemark></Document></kml>
"""


def test_entities_of_a_file_are_not_followed(tmp_path: Path, door: Door) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("a word that stays here")
    path = tmp_path / "streams.kml"

    def said() -> str:
        try:
            return read_layer(VectorSource(path=str(path)), WGS84)[0].to_json()
        except InputError as error:
            return str(error)

    whole = KML.format(door=door.address, secret=secret)
    path.write_text(whole)
    assert "stays here" not in said()
    first, _, rest = whole.partition("<!DOCTYPE")
    plain = first + rest.partition("]>")[2].replace("&there;", "")
    path.write_text(plain.replace("&here;", "a word that stays here"))
    assert "stays here" in said()
    assert door.knocks == 0
