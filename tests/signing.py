"""Chromium with the page to sign on in it, and the hands of somebody who signs: mouse, fingers and keys."""

import json
import os
import time
from importlib import resources

from selenium import webdriver
from selenium.webdriver import ActionChains
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.actions.action_builder import ActionBuilder
from selenium.webdriver.common.actions.pointer_actions import PointerActions
from selenium.webdriver.common.actions.pointer_input import PointerInput
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys


class Browser:
    """Chromium with a page in it; what is saved goes into ``folder``."""

    named = Keys
    """Keys that are no letters."""

    def __init__(self, folder, chromium, driver):
        self.folder = folder
        options = webdriver.ChromeOptions()
        options.binary_location = chromium
        for name in (
            "headless=new",
            "disable-gpu",
            "disable-dev-shm-usage",
            "no-first-run",
            "disable-sync",
            "lang=en-US",
        ):
            options.add_argument(f"--{name}")
        if os.geteuid() == 0:
            options.add_argument("--no-sandbox")
        options.add_experimental_option(
            "prefs", {"download.default_directory": str(folder), "download.prompt_for_download": False}
        )
        options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
        self.driver = webdriver.Chrome(options=options, service=Service(driver))
        self.run = self.driver.execute_script

    def size(self, width, height, mobile=False):
        measures = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": mobile}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", measures)
        self.driver.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", {"enabled": mobile})

    def open(self, text, width=1300, height=850, mobile=False):
        """Open a page that this browser never saw."""
        path = self.folder / "sign-off.html"
        path.write_text(text, encoding="utf-8")
        self.size(width, height, mobile)
        for leftover in self.folder.glob("*.json"):
            leftover.unlink()
        self.driver.get(path.as_uri())
        if self.run("try { const n = localStorage.length; localStorage.clear(); return n } catch (_) { return 0 }"):
            self.driver.refresh()
        self.driver.get_log("browser")

    def on_screen(self, sheet, x, y):
        """Return where a point of a sheet, seen whole, is on the screen: the sheet fitted into the stage, in the middle."""
        left, top, width, height = self.run(
            "const r = document.getElementById('stage').getBoundingClientRect(), s = document.getElementById('stage');"
            "return [r.left + s.clientLeft, r.top + s.clientTop, s.clientWidth, s.clientHeight]"
        )
        w, h = sheet["size"]
        scale = min(width / w, height / h)
        return left + (width - w * scale) / 2 + x * scale, top + (height - h * scale) / 2 + y * scale

    def drag(self, *points, kind="mouse"):
        """Press at the first of some points of the screen, go to the others, let go."""
        actions = ActionBuilder(self.driver, mouse=PointerInput(kind, f"{kind} hand"), duration=0)
        hand = actions.pointer_action
        for n, (x, y) in enumerate(points):
            hand.move_to_location(round(x), round(y))
            if n == 0:
                hand.pointer_down()
        hand.pointer_up()
        actions.perform()

    def pinch(self, x, y, before, after):
        """Put two fingers at either side of a place, move them from one distance to another, lift the second first."""
        actions = ActionBuilder(self.driver, mouse=PointerInput("touch", "one"), duration=0)
        one, two = actions.pointer_action, PointerActions(actions.add_pointer_input("touch", "two"), duration=0)
        for finger, side in ((one, -1), (two, 1)):
            finger.move_to_location(round(x + side * before), round(y))
            finger.pointer_down()
            finger.move_to_location(round(x + side * (before + after) / 2), round(y))
            finger.move_to_location(round(x + side * after), round(y))
        two.pointer_up()
        one.pause(0)
        one.pointer_up()
        actions.perform()

    def keys(self, *keys):
        ActionChains(self.driver, duration=0).send_keys(*keys).perform()

    def click(self, selector):
        self.driver.find_element(By.CSS_SELECTOR, selector).click()

    def type(self, selector, text):
        self.driver.find_element(By.CSS_SELECTOR, selector).send_keys(text)

    def tool(self, name):
        self.run(f"document.querySelector('[name=tool][value={name}]').click()")

    def text(self, selector):
        return self.run("return document.querySelector(arguments[0]).innerText", selector)

    def focus(self):
        return self.run("const a = document.activeElement; return a.id || a.name || a.tagName")

    def saved(self, name="J-1-A-returned.json"):
        """Return what was saved, once it is there whole."""
        path, until = self.folder / name, time.monotonic() + 10
        while True:
            try:
                return json.loads(path.read_bytes())
            except (FileNotFoundError, ValueError):
                if time.monotonic() > until:
                    raise
                time.sleep(0.02)

    def unsaved(self):
        return not list(self.folder.glob("*.json*"))

    def complaints(self):
        return [entry["message"] for entry in self.driver.get_log("browser")]

    def violations(self, *rules):
        """Return what axe-core finds wrong by all its rules, or by some, a line each."""
        if not self.run("return typeof axe === 'object'"):
            self.run(
                resources.files("axe_core_python").joinpath("axe.min.js").read_text(encoding="utf-8")
                + ";window.axe=axe"
            )
        found = self.driver.execute_async_script(
            "const [rules, done] = arguments, only = rules.length ? {runOnly: rules} : {};"
            "axe.run(document, {resultTypes: ['violations'], ...only}).then(done, e => done({passes: [], why: String(e)}))",
            rules,
        )
        assert found["passes"], f"it looked at nothing: {found}"
        return [f"{v['id']}: {n['html'][:120]} {n['failureSummary']}" for v in found["violations"] for n in v["nodes"]]
