"""Rasters on a web server: read piece by piece, and anew when the server's file changes."""

from __future__ import annotations

import re
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import numpy as np
import pytest
import small_land
from rasterio.shutil import copy

from suitability.config import load_run
from suitability.deliver import Found
from suitability.run import screen


class Shelf(BaseHTTPRequestHandler):
    """Serves the files of a folder with byte ranges, and keeps count of what was fetched."""

    folder: Path
    fetched: int
    tag: str

    def do_HEAD(self) -> None:
        self._answer(body=False)

    def do_GET(self) -> None:
        self._answer(body=True)

    def _answer(self, *, body: bool) -> None:
        path = self.folder / self.path.lstrip("/")
        if not path.is_file():
            self.send_error(404)
            return
        data = path.read_bytes()
        asked = re.fullmatch(r"bytes=(\d+)-(\d*)", self.headers.get("Range", ""))
        start = int(asked[1]) if asked else 0
        end = min(int(asked[2]) if asked and asked[2] else len(data) - 1, len(data) - 1)
        self.send_response(206 if asked else 200)
        self.send_header("Accept-Ranges", "bytes")
        self.send_header("ETag", type(self).tag)
        self.send_header("Content-Length", str(end + 1 - start))
        if asked:
            self.send_header("Content-Range", f"bytes {start}-{end}/{len(data)}")
        self.end_headers()
        if body:
            self.wfile.write(data[start : end + 1])
            type(self).fetched += end + 1 - start

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture
def shelf(tmp_path: Path) -> Iterator[tuple[type[Shelf], str]]:
    """Yield a server's handler and its address; its files lie in tmp_path / 'shelf'."""
    (tmp_path / "shelf").mkdir()
    handler = type("OwnShelf", (Shelf,), {"folder": tmp_path / "shelf", "fetched": 0, "tag": '"1"'})
    server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield handler, f"http://127.0.0.1:{server.server_address[1]}"
    server.shutdown()
    server.server_close()


def remote_land(tmp_path: Path, address: str) -> Path:
    """Write the small land with its elevation on the server, amid much more land."""
    run_file = small_land.write_land(tmp_path / "land")
    rows = cols = 2000
    wide = np.random.default_rng(3).normal(300, 1, (rows, cols)).astype(np.float32)
    wide[1000 : 1000 + small_land.ROWS, 900 : 900 + small_land.COLS] = small_land.heights()
    cell = small_land.CELL_M
    corner = small_land.corner(small_land.WEST - 900 * cell, small_land.NORTH + 1000 * cell)
    small_land.write_raster(tmp_path / "wide.tif", wide, transform=corner)
    copy(tmp_path / "wide.tif", tmp_path / "shelf" / "dem.tif", driver="COG", blocksize=256)
    text = small_land.RUN.replace("dem.tif", f"{address}/dem.tif")
    return small_land.write_config(run_file.parent, text)


def sites(found: Found) -> list[tuple[float, float]]:
    return list(zip(found.sites["x_m"], found.sites["y_m"], strict=True))


def test_a_raster_by_its_address_is_read_by_window(tmp_path, shelf):
    handler, address = shelf
    remote = screen(load_run(remote_land(tmp_path, address)), tmp_path / "remote")
    size = (tmp_path / "shelf" / "dem.tif").stat().st_size
    assert 0 < handler.fetched < size / 3
    local = screen(load_run(small_land.write_land(tmp_path / "land")), tmp_path / "local")
    assert sites(remote) == sites(local)
    mark = remote.facts["input_sha256"][f"{address}/dem.tif"]
    assert mark == f'"1" {size}'


def test_layers_are_used_again_only_while_the_server_says_the_same(tmp_path, shelf):
    handler, address = shelf
    run = load_run(remote_land(tmp_path, address))
    first = screen(run, tmp_path / "out")
    again = screen(run, tmp_path / "out")
    handler.tag = '"2"'
    changed = screen(run, tmp_path / "out")
    measured = ["measuring the land" in found.facts["seconds"] for found in (first, again, changed)]
    assert measured == [True, False, True]
