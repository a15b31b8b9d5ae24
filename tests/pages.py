"""A run's page in a real browser: opened, watched, worked as a user does."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
from small_land import RUN

ATTACK = "</script><script>hacked=1</script><img src=x onerror='hacked=1'>\"'&amp;"
LINK = "javascript:hacked=1"

# Every way to combine, every shape of curve, and texts that would run if they could.
HOSTILE_RUN = (
    RUN.replace("title: Small land", f"title: {json.dumps(ATTACK)}")
    + f"""\
layers:
  bends_share:
    title: {json.dumps(f"bends {ATTACK}")}
    cover: {{of: [81], within: 60 m}}
exclusions:
  rules:
    - {{layer: slope_deg, above: 4 deg, because: {json.dumps(LINK + " <b>")}}}
combine: weighted geometric mean
criteria:
  - group: {json.dumps(f"warm: {ATTACK}")}
    weight: 3
    combine: {{by: ordered weighted mean, order_weights: [1, 2, 3]}}
    criteria:
      - {{layer: canopy_edge_m, weight: 1, value: {{hump: [0 m, 40 m, 80 m, 160 m]}}}}
      - {{layer: direct_sun_h, weight: 2, value: {{logistic: [9 h, 11 h]}}}}
      - {{layer: water_distance_m, weight: 1, value: {{points: [[0 m, 0.3], [200 m, 1]]}}}}
  - group: lie of the land
    weight: 2
    combine: limiting criterion
    criteria:
      - layer: slope_deg
        weight: 1
        value: {{steps: {{below: 1, then: [[2 deg, 0.8], [3 deg, 0.55]]}}}}
        basis: {json.dumps(f"basis {ATTACK}")}
      - {{layer: bends_share, weight: 1, value: {{falling: [0.2, 1.4]}}}}
  - {{layer: ground_elevation_m, weight: 1, value: {{rising: [290 m, 310 m]}}}}
  - {{layer: clearance_m, weight: 0, value: {{rising: [0 m, 100 m]}}}}
"""
)

_OPTIONS = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--disable-dev-shm-usage", "--hide-scrollbars",
)  # fmt: skip


def started(chromium: str, chromedriver: str, folder: Path):
    """Return the driver of a browser that keeps what it writes in a folder."""
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    for option in (*_OPTIONS, f"--user-data-dir={folder / 'profile'}"):
        options.add_argument(option)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    service = Service(chromedriver, env={"HOME": str(folder), "PATH": "/usr/bin:/bin"})
    return webdriver.Chrome(options=options, service=service)


class Page:
    """The page of a run in a browser."""

    def __init__(self, driver, folder: Path) -> None:
        self.driver = driver
        self.folder = folder

    def opened(self, *, width: int = 1280, height: int = 860, scheme: str = "light") -> Page:
        """Open it in a window of a size and wait until it can be used."""
        self.command("Network.enable")
        self.command("Emulation.setDeviceMetricsOverride", width=width, height=height,
                     deviceScaleFactor=1, mobile=width < 600)  # fmt: skip
        features = [
            {"name": "prefers-color-scheme", "value": scheme},
            {"name": "prefers-reduced-motion", "value": "reduce"},
        ]
        self.command("Emulation.setEmulatedMedia", features=features)
        # The browser's own first page asks for much, and goes on with it until it is left.
        self.driver.get("about:blank")
        for kind in ("browser", "performance"):
            self.driver.get_log(kind)
        self.driver.get((self.folder / "map.html").as_uri())
        self.driver.set_script_timeout(20)
        self.driver.execute_async_script("""
            const done = arguments[0];
            const isDone = () => document.documentElement.dataset.ready
              || !document.getElementById("fault").hidden;
            const look = () => isDone() ? done() : setTimeout(look, 20);
            look();
        """)
        assert self.ask("document.getElementById('fault').textContent") == ""
        return self

    def command(self, name: str, **more):
        """Return what a command of the browser's own protocol gives."""
        return self.driver.execute_cdp_cmd(name, more)

    def ask(self, expression: str, *arguments):
        """Return the value of an expression, or of an arrow function of the arguments."""
        if arguments:
            return self.driver.execute_script(f"return ({expression})(...arguments)", *arguments)
        return self.driver.execute_script(f"return {expression}")

    def settle(self) -> None:
        """Wait until what was asked for is shown."""
        self.driver.execute_async_script(
            "const done = arguments[0]; suitabilityMap.settled().then(() => setTimeout(done, 0))"
        )

    def complaints(self) -> list[str]:
        """Return what the page wrote to the console, warnings and errors too."""
        return [entry["message"] for entry in self.driver.get_log("browser")]

    def requests(self) -> list[str]:
        """Return the addresses that were asked for since it was opened, but its own."""
        events = [json.loads(entry["message"])["message"] for entry in
                  self.driver.get_log("performance")]  # fmt: skip
        asked = [event["params"]["request"]["url"] for event in events
                 if event["method"] == "Network.requestWillBeSent"]  # fmt: skip
        own = (self.folder / "map.html").as_uri()
        assert own in asked  # else nothing was watched
        return [address for address in asked if address != own]

    def open_tab(self, name: str) -> None:
        """Open a tab by a click."""
        self.ask("(name) => document.getElementById(`tab-${name}`).click()", name)

    def weigh(self, weights: list[float]) -> None:
        """Set the weights, in the order in which they are listed, as with a mouse."""
        self.open_tab("weights")
        self.ask(
            """(weights) => [...document.querySelectorAll('#page-weights input[type=number]')]
            .forEach((field, k) => {
              if (field.disabled) return;
              field.value = weights[k];
              field.dispatchEvent(new Event('input', { bubbles: true }));
            })""",
            weights,
        )
        self.settle()

    def combine(self, at: int, way: str) -> None:
        """Choose how the whole (0) or a group combines."""
        self.open_tab("weights")
        self.ask(
            """(at, way) => {
              const select = document.querySelectorAll('#page-weights select')[at];
              select.value = way;
              select.dispatchEvent(new Event('change', { bubbles: true }));
            }""",
            at,
            way,
        )
        self.settle()

    def yaml(self) -> str:
        """Return the weights as the page gives them to copy."""
        return self.ask("document.querySelector('#page-weights textarea').value")

    def scores(self) -> tuple[np.ndarray, np.ndarray]:
        """Return the page's candidate cells, counted by rows, and their scores."""
        cells = self.ask("Array.from(suitabilityMap.land.cells)")
        scores = self.ask("Array.from(suitabilityMap.land.score, (s) => s === s ? s : null)")
        return np.array(cells), np.array(scores, float)
