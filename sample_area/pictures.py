"""Draw the README's pictures from a finished run of the sample area: what users get, nothing else.

A browser takes the phone's picture, so this wants Chromium with its driver, and `.[test]`.

    python sample_area/pictures.py runs/sample_area [--to DIR]
"""

from __future__ import annotations

import argparse
import base64
import io
import shutil
import tempfile
from pathlib import Path

from PIL import Image, ImageOps
from selenium import webdriver
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.support.wait import WebDriverWait

from suitability.finished import FinishedRun
from suitability.outputs.figure_parts import own_style
from suitability.outputs.landowner_sheet import landowner_page
from suitability.outputs.sheet_content import LandownerSheet
from suitability.outputs.site_sheet import field_page
from suitability.sheets.books import Reader, SheetMaker

MAP_PX = 1020  # wide
STRIP_PX = 880  # high
GAP_PX = 22
PHONE_PX = (390, 844)
COLOURS = 192
SITE = 8  # by the water, so that its pages have something of their own to heed


def draw(run: Path, folder: Path) -> None:
    """Draw the map, and beside each other both pages of a site and the map on a phone."""
    folder.mkdir(parents=True, exist_ok=True)
    figure = Image.open(run / "figure.png").convert("RGB")
    _keep(ImageOps.contain(figure, (MAP_PX, figure.height)), folder / "map.png")
    pages = [_page(run, "field"), _page(run, "landowner"), _phone(run / "map.html")]
    framed = [ImageOps.expand(_as_high(page), 1, "#888888") for page in pages]
    wide = sum(page.width for page in framed) + GAP_PX * (len(framed) - 1)
    strip = Image.new("RGB", (wide, framed[0].height), "white")
    left = 0
    for page in framed:
        strip.paste(page, (left, 0))
        left += page.width + GAP_PX
    _keep(strip, folder / "pages.png")


def _page(run: Path, reader: Reader) -> Image.Image:
    """Return a site's page as it is printed."""
    kept = io.BytesIO()
    with own_style():
        content = SheetMaker(FinishedRun.of(run), reader, "letter").content(SITE)
        is_plain = isinstance(content, LandownerSheet)
        page = landowner_page(content) if is_plain else field_page(content)
        page.savefig(kept, format="png", dpi=2 * STRIP_PX / page.get_figheight())
    return Image.open(kept).convert("RGB")


def _phone(page: Path) -> Image.Image:
    """Return the map as a phone shows it when it is opened."""
    options = webdriver.ChromeOptions()
    options.binary_location = _program("chromium")
    with tempfile.TemporaryDirectory() as profile:
        for option in ("headless=new", "no-sandbox", "hide-scrollbars", f"user-data-dir={profile}"):
            options.add_argument(f"--{option}")
        driver = webdriver.Chrome(options=options, service=Service(_program("chromedriver")))
        try:
            width, height = PHONE_PX
            screen = {"width": width, "height": height, "deviceScaleFactor": 2, "mobile": True}
            driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", screen)
            driver.get(page.resolve().as_uri())
            ready = "return document.documentElement.dataset.ready"
            WebDriverWait(driver, 30).until(lambda shown: shown.execute_script(ready))
            settled = "suitabilityMap.settled().then(arguments[0])"
            driver.execute_async_script(settled)
            taken = driver.execute_cdp_cmd("Page.captureScreenshot", {"format": "png"})
        finally:
            driver.quit()
    return Image.open(io.BytesIO(base64.b64decode(taken["data"]))).convert("RGB")


def _program(name: str) -> str:
    found = shutil.which(name)
    if found is None:
        msg = f"{name} is not installed"
        raise SystemExit(msg)
    return found


def _as_high(page: Image.Image) -> Image.Image:
    return page.resize(
        (round(page.width * STRIP_PX / page.height), STRIP_PX), Image.Resampling.LANCZOS
    )


def _keep(picture: Image.Image, path: Path) -> None:
    """Write a picture in few colours, rare ones too, which makes it a third as large."""
    few = picture.quantize(COLOURS, method=Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE)
    few.save(path, optimize=True)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("run", type=Path, help="the folder of a finished run of the sample area")
    parser.add_argument("--to", type=Path, default=Path(__file__).parent / "pictures")
    asked = parser.parse_args()
    draw(asked.run, asked.to)
