"""A real browser without a window, driven over its debugging pipe (Chrome DevTools Protocol)."""

from __future__ import annotations

import base64
import json
import os
import queue
import shutil
import subprocess
import threading
from itertools import count

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)

TIMEOUT_S = 60.0

FLAGS = (
    *("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run"),
    *("--remote-debugging-pipe", "--autoplay-policy=no-user-gesture-required", "--hide-scrollbars"),
    *("--disable-extensions", "--disable-background-networking", "--disable-component-update", "--mute-audio"),
)


class Browser:
    """One page of a browser; what it logs and the addresses that it fetches are kept."""

    def __init__(self, folder):
        to_read, self._to = os.pipe()
        self._from, to_write = os.pipe()
        words = f'exec "$@" 3<&{to_read} 4>&{to_write}'
        self._process = subprocess.Popen(
            ["bash", "-c", words, "browser", CHROMIUM, *FLAGS, f"--user-data-dir={folder}", "about:blank"],
            pass_fds=(to_read, to_write),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(to_read)
        os.close(to_write)
        self._numbers, self._answers, self._session = count(1), queue.Queue(), None
        self.log, self.fetched = [], []
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()
        target = self.send("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.send("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.send(f"{domain}.enable")

    def _read(self):
        rest = b""
        while data := os.read(self._from, 1 << 16):
            *whole, rest = (rest + data).split(b"\0")
            for each in map(json.loads, whole):
                if "id" in each:
                    self._answers.put(each)
                elif each["method"] == "Network.requestWillBeSent":
                    self.fetched.append(each["params"]["request"]["url"])
                elif each["method"] in {"Runtime.exceptionThrown", "Log.entryAdded", "Runtime.consoleAPICalled"}:
                    self.log.append(each["params"])

    def send(self, method, **params):
        number = next(self._numbers)
        message = {"id": number, "method": method, "params": params}
        if self._session:
            message["sessionId"] = self._session
        data = json.dumps(message).encode() + b"\0"
        while data:
            data = data[os.write(self._to, data) :]
        while True:
            answer = self._answers.get(timeout=TIMEOUT_S)
            if answer["id"] == number:
                assert "error" not in answer, answer
                return answer["result"]

    def run(self, code):
        """The value of an expression, awaited."""
        done = self.send(
            "Runtime.evaluate", expression=code, awaitPromise=True, returnByValue=True, userGesture=True
        )
        assert "exceptionDetails" not in done, done["exceptionDetails"]
        return done["result"].get("value")

    def open(self, url, width=1280, height=900, *, dark=False, before=""):
        """Show a page at a size; `before` runs ahead of its own code."""
        self.send(
            "Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=False
        )
        scheme = [{"name": "prefers-color-scheme", "value": "dark" if dark else "light"}]
        self.send("Emulation.setEmulatedMedia", features=scheme)
        script = self.send("Page.addScriptToEvaluateOnNewDocument", source=before)["identifier"]
        self.send("Page.navigate", url=url)
        self.run(
            "new Promise(done => document.readyState === 'complete' ? done() : addEventListener('load', done))"
        )
        self.send("Page.removeScriptToEvaluateOnNewDocument", identifier=script)

    def picture(self, *, whole=False):
        return base64.b64decode(self.send("Page.captureScreenshot", captureBeyondViewport=whole)["data"])

    def close(self):
        self._session = None
        try:
            self.send("Browser.close")
            self._process.wait(20)
        finally:
            self._process.kill()
            self._process.wait()
            os.close(self._to)
