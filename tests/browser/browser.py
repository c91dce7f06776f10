"""A started app, and a browser that looks at it: sizes of a stand and a desk, light and dark rooms, what it asked for."""

import json
import os
import signal
import subprocess
import tempfile
import time
from pathlib import Path

from selenium import webdriver
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys  # noqa: F401 (for the flows)
from selenium.webdriver.support.ui import WebDriverWait

HOUSE = Path(__file__).resolve().parents[2]
# What the app takes for today: whatever a flow looks for holds on any day.
TODAY = "2026-11-26"
SIZES = {"desk": (1440, 900), "stand": (820, 1180), "wide": (1180, 820)}


def program() -> str:
    """The program: FOREREAD, else a build of this checkout."""
    named = os.environ.get("FOREREAD")
    target = Path(os.environ.get("CARGO_TARGET_DIR", HOUSE / "target"))
    found = [named, target / "release/foreread", target / "debug/foreread"]
    for path in filter(None, found):
        if Path(path).is_file():
            return str(path)
    raise SystemExit("no foreread is built: cargo build -p foreread, or name one in FOREREAD")


class App:
    """The app on a free port with a home of its own."""

    def __init__(self, home: str | None = None, *words: str):
        self.home = home or tempfile.mkdtemp(prefix="foreread-browser-")
        self.words = words
        self.start()

    def start(self) -> None:
        line = [program(), "--home", self.home, "--port", "0", "--no-open", *self.words]
        told = os.environ | {"FOREREAD_TODAY": TODAY}
        self.process = subprocess.Popen(line, env=told, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        self.address = self.process.stdout.readline().strip().rstrip("/")
        if not self.address.startswith("http://127.0.0.1:"):
            raise SystemExit(f"the app did not start: {self.process.stderr.read()}")

    def stop(self) -> int:
        self.process.send_signal(signal.SIGTERM)
        return self.process.wait(20)

    def kill(self) -> None:
        self.process.kill()
        self.process.wait(20)


class Browser:
    """A browser window of a size in a room."""

    def __init__(
        self,
        app: App,
        size: str = "desk",
        dark: bool = False,
        calm: bool = False,
        waits: bool = True,
        more: list[str] | None = None,
    ):
        options = Options()
        options.binary_location = os.environ.get("CHROMIUM", "/usr/bin/chromium")
        for word in ["--headless=new", "--no-sandbox", "--hide-scrollbars", "--autoplay-policy=no-user-gesture-required", *(more or [])]:
            options.add_argument(word)
        if not waits:
            # What is there while a page is still coming can be looked at.
            options.page_load_strategy = "none"
        if calm:
            options.add_argument("--force-prefers-reduced-motion")
        # The certificate of the door to other devices is made on the spot.
        options.accept_insecure_certs = app.address.startswith("https:")
        options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
        self.driver = webdriver.Chrome(options=options, service=Service("/usr/bin/chromedriver"))
        self.app = app
        width, height = SIZES[size]
        metrics = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
        if dark:
            features = [{"name": "prefers-color-scheme", "value": "dark"}]
            self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})

    def go(self, path: str) -> None:
        self.driver.get(self.app.address + path)

    def all(self, css: str):
        return self.driver.find_elements(By.CSS_SELECTOR, css)

    def one(self, css: str):
        return self.until(lambda: (self.all(css) or [None])[0], css)

    def until(self, isso, what: str = "", seconds: float = 20):
        return WebDriverWait(self.driver, seconds, 0.05).until(lambda _: isso(), f"waited for {what}")

    def js(self, script: str, *what):
        return self.driver.execute_script(script, *what)

    def keys(self, *keys) -> None:
        webdriver.ActionChains(self.driver).send_keys(*keys).perform()

    def chord(self, held, key) -> None:
        webdriver.ActionChains(self.driver).key_down(held).send_keys(key).key_up(held).perform()

    def drag(self, one, other) -> None:
        chain = webdriver.ActionChains(self.driver)
        chain.move_to_element(one).click_and_hold().move_to_element(other).release().perform()

    def text(self, css: str) -> str:
        return self.one(css).text

    def slips(self) -> list[str]:
        """What the browser complained of."""
        return [line["message"] for line in self.driver.get_log("browser") if line["level"] == "SEVERE"]

    def asked(self) -> list[str]:
        """Every address that was asked for since the last time."""
        found = []
        for line in self.driver.get_log("performance"):
            message = json.loads(line["message"])["message"]
            if message["method"] == "Network.requestWillBeSent":
                found.append(message["params"]["request"]["url"])
        return found

    def close(self) -> None:
        self.driver.quit()


def soon(isso, seconds: float = 10.0):
    """Waits for something outside the browser."""
    end = time.time() + seconds
    while time.time() < end:
        if found := isso():
            return found
        time.sleep(0.05)
    raise AssertionError("waited in vain")
