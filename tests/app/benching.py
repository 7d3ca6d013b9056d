"""The bench as a person meets it: the program in a process of its own, its page in a browser."""

from __future__ import annotations

import base64
import http.client
import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar
from urllib.parse import quote, urlsplit

import pytest
from selenium import webdriver
from selenium.common.exceptions import StaleElementReferenceException, WebDriverException
from selenium.webdriver import ActionChains, Keys
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support.ui import WebDriverWait

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = ROOT / "samples"
PATIENCE_S = 20.0
"""Waits end as soon as what they wait for is there; this is for a machine that is very busy."""


_BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
_SWITCHES = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--force-color-profile=srgb",
)
_QUIET = "*{animation:none !important;transition:none !important;caret-color:transparent !important}"

Found = TypeVar("Found")


def start_browser(profile: Path, width: int = 1024, height: int = 768) -> webdriver.Chrome:
    """A browser of its own. Skips the test where this machine has none."""
    browser = next((path for name in _BROWSERS if (path := shutil.which(name))), None)
    driver = shutil.which("chromedriver")
    if browser is None or driver is None:
        pytest.skip("no Chromium with its chromedriver is found here: apt install chromium chromium-driver")
    options = Options()
    options.binary_location = browser
    for switch in (*_SWITCHES, f"--user-data-dir={profile}", f"--window-size={width},{height}"):
        options.add_argument(switch)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    found = webdriver.Chrome(options=options, service=Service(driver))
    resize(found, width, height)
    return found


def resize(browser: webdriver.Chrome, width: int, height: int) -> None:
    """Give the page a screen of this size."""
    size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)


@dataclass
class Served:
    """A bench that runs."""

    process: subprocess.Popen[str]
    address: str
    folder: Path

    @property
    def base(self) -> str:
        return self.address.partition("/?")[0]

    @property
    def host(self) -> str:
        return urlsplit(self.address).netloc

    @property
    def key(self) -> str:
        return self.address.partition("key=")[2]

    @property
    def cookie(self) -> str:
        return f"bodyshop-bench-{self.host.partition(':')[2]}={self.key}"

    def design(self, name: str) -> str:
        """The address of a design."""
        return f"{self.base}/design?file={quote(name)}"

    def ask(
        self,
        path: str,
        headers: Mapping[str, str] | None = None,
        *,
        method: str = "GET",
        body: bytes | None = None,
    ) -> tuple[int, bytes]:
        """One request without a browser; status and body. An empty header is left out."""
        given = {"Host": self.host, "Cookie": self.cookie, "Origin": self.base} | dict(headers or {})
        line = http.client.HTTPConnection(self.host, timeout=PATIENCE_S)
        try:
            line.putrequest(method, path, skip_host=True)
            for name, value in given.items():
                if value:
                    line.putheader(name, value)
            if body is not None:
                line.putheader("Content-Length", str(len(body)))
            line.endheaders(body)
            answer = line.getresponse()
            return answer.status, answer.read()
        finally:
            line.close()

    def stop(self) -> tuple[int, str, str]:
        """Stop it from the keyboard; exit code, output, complaints."""
        self.process.send_signal(signal.SIGINT)
        out, err = self.process.communicate(timeout=PATIENCE_S)
        return self.process.returncode, out, err

    def kill(self) -> None:
        """The power goes out."""
        self.process.kill()
        self.process.communicate(timeout=PATIENCE_S)

    def close(self) -> None:
        """End it, however it stands."""
        if self.process.poll() is None:
            self.kill()


def serve(folder: Path, *words: str) -> Served:
    """Start the bench on a folder, or on what `words` name, seen from it."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("NICEGUI")}
    kept.update({"PYTHONPATH": str(ROOT), "PYTHONUTF8": "1", "PYTHONDONTWRITEBYTECODE": "1"})
    process = subprocess.Popen(
        [sys.executable, "-m", "bodyshop", "bench", "--no-browser", *(words or (".",))],
        cwd=folder,
        env=kept,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    line = process.stdout.readline()
    found = re.search(r"http\S+", line)
    if found is None:
        process.kill()
        raise AssertionError(f"the bench did not start: {line}{process.communicate()}")
    return Served(process, found[0], folder)


class Page:
    """One design's page, in terms of what a person does there."""

    def __init__(self, browser: webdriver.Chrome, served: Served) -> None:
        self.browser = browser
        self.served = served

    def open(self, name: str) -> Page:
        """Show a design and wait for its verdict."""
        self.browser.get(self.served.address)
        self.browser.get(self.served.design(name))
        self.until(lambda: self.text_of("headline") and "being measured" not in self.text_of("headline"))
        self.until(lambda: self.browser.find_elements(By.CSS_SELECTOR, ".tok-key"))
        return self

    def until(self, holds: Callable[[], Found]) -> Found:
        """Wait until something holds, and hand it over."""

        def settled(_: object) -> Found | bool:
            try:
                return holds()
            except (StaleElementReferenceException, WebDriverException):
                return False

        wait = WebDriverWait(self.browser, PATIENCE_S, poll_frequency=0.03)
        return wait.until(settled)  # type: ignore[arg-type, return-value, unused-ignore]

    def by_id(self, name: str) -> WebElement:
        return self.browser.find_element(By.ID, name)

    def text_of(self, name: str) -> str:
        return self.by_id(name).text

    def all(self, selector: str) -> list[WebElement]:
        return self.browser.find_elements(By.CSS_SELECTOR, selector)

    def click(self, name: str) -> None:
        self.until(lambda: self.by_id(name).is_enabled() and self.by_id(name).is_displayed())
        self.by_id(name).click()

    def run(self, script: str, *given: object) -> Any:
        return self.browser.execute_script(script, *given)

    @property
    def text(self) -> str:
        """All of the text in the editor, as the page holds it."""
        return str(self.run("return document.getElementById('editor').editorView.state.doc.toString()"))

    def put_caret(self, before: str) -> None:
        """Put the caret in front of some words of the text."""
        at = self.text.index(before)
        self.run(
            "const view = document.getElementById('editor').editorView;"
            "view.dispatch({selection: {anchor: arguments[0]}, scrollIntoView: true}); view.focus();",
            at,
        )

    def type(self, *keys: str) -> None:
        """Press keys, one after the other."""
        ActionChains(self.browser).send_keys(*keys).perform()

    def chord(self, *keys: str) -> None:
        """Press the last key while the others are held."""
        chain = ActionChains(self.browser)
        for held in keys[:-1]:
            chain = chain.key_down(held)
        chain = chain.send_keys(keys[-1])
        for held in keys[:-1]:
            chain = chain.key_up(held)
        chain.perform()

    def replace(self, old: str, new: str) -> None:
        """Put the caret before `old`, delete it letter by letter, and type `new`."""
        self.put_caret(old)
        self.type(Keys.DELETE * len(old), new)

    def change(self, old: str, new: str) -> None:
        """Put `new` in the place of `old` in one go, without the keyboard.

        Keys that come right after a change of tabs can find the caret where the browser put it.
        """
        at = self.text.index(old)
        self.run(
            "document.getElementById('editor').editorView.dispatch("
            "{changes: {from: arguments[0], to: arguments[1], insert: arguments[2]}});",
            at,
            at + len(old),
            new,
        )

    def is_saved(self) -> bool:
        return self.text_of("saved") == "saved"

    def save(self) -> None:
        self.click("save")
        self.until(self.is_saved)

    def notice(self, name: str) -> WebElement:
        """A notice of the page, waited for."""
        return self.until(lambda: self.browser.find_element(By.CSS_SELECTOR, f'[data-notice="{name}"]'))

    def answer(self, name: str, words: str) -> None:
        """Press a button of a notice."""
        for button in self.notice(name).find_elements(By.TAG_NAME, "button"):
            if button.text == words:
                button.click()
                return
        raise AssertionError(f"no button {words}")

    def complaints(self) -> list[str]:
        """What the browser's console has to complain about, so far."""
        told: list[dict[str, Any]] = self.browser.get_log("browser")
        return [str(entry["message"]) for entry in told if entry["level"] in ("SEVERE", "WARNING")]

    def picture(self, file: Path) -> None:
        """Keep a picture of the page, for somebody to look at."""
        shot = self.browser.execute_cdp_cmd("Page.captureScreenshot", {"format": "png"})
        file.write_bytes(base64.b64decode(shot["data"]))
