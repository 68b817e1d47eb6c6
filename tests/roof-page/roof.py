"""The program with its roof page, and a phone that opens it: Debian's Chromium at 360 x 740, driven without a screen."""

import json
import os
import re
import socket
import subprocess
import tempfile
import threading
import time

from selenium import webdriver
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By

PROGRAM = os.environ["LOOPMARGIN_BIN"]
PATIENCE = 60


def wait_for(what, condition, patience=PATIENCE):
    """Waits until a condition holds; a hang ends."""
    end = time.monotonic() + patience
    while time.monotonic() < end:
        value = condition()
        if value:
            return value
        time.sleep(0.02)
    raise AssertionError(f"waited {patience} s for {what}")


class Program:
    """loopmargin with arguments; lines of its output with the time at which they came."""

    def __init__(self, *arguments):
        self.process = subprocess.Popen(
            [PROGRAM, *arguments],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        self.out, self.err = [], []
        self.readers = [
            threading.Thread(target=self._read, args=(self.process.stdout, self.out), daemon=True),
            threading.Thread(target=self._read, args=(self.process.stderr, self.err), daemon=True),
        ]
        for reader in self.readers:
            reader.start()
        self.link = wait_for("the link", self._link)

    @staticmethod
    def _read(stream, lines):
        for line in stream:
            lines.append((time.time(), line.rstrip("\n")))

    def _link(self):
        if self.process.poll() is not None:
            raise AssertionError(f"it ended with {self.process.returncode}: {[line for _, line in self.err]}")
        found = (re.search(r"roof page: (https?://\S+)", line) for _, line in list(self.err))
        return next((match.group(1) for match in found if match), None)

    def json(self, kind):
        """Lines of JSON output of a type, each with its time."""
        lines = [(at, json.loads(line)) for at, line in list(self.out) if line.startswith("{")]
        return [(at, line) for at, line in lines if line.get("type") == kind]

    def end(self):
        """Its exit code, at its own end."""
        code = self.process.wait(PATIENCE)
        for reader in self.readers:
            reader.join(PATIENCE)
        for stream in (self.process.stdin, self.process.stdout, self.process.stderr):
            stream.close()
        return code

    def stop(self):
        if self.process.poll() is None:
            self.process.terminate()
        return self.end()


class Air:
    """What lies between phone and program: it can be cut, and it can swallow everything without a word."""

    def __init__(self, link):
        host, port = link.split("/")[2].split(":")
        self.target = (host, int(port))
        self.listener = socket.create_server((host, 0))
        self.port = self.listener.getsockname()[1]
        self.open, self.is_cut = [], False
        self.carries = threading.Event()
        self.carries.set()
        threading.Thread(target=self._accept, daemon=True).start()

    def _accept(self):
        while True:
            try:
                phone, _ = self.listener.accept()
            except OSError:
                return
            if self.is_cut:
                phone.close()
                continue
            program = socket.create_connection(self.target)
            self.open += [phone, program]
            for way in ((phone, program), (program, phone)):
                threading.Thread(target=self._carry, args=way, daemon=True).start()

    def _carry(self, one, other):
        try:
            while data := one.recv(65536):
                self.carries.wait()
                other.sendall(data)
        except OSError:
            pass
        for end in (one, other):
            try:
                end.shutdown(socket.SHUT_RDWR)
            except OSError:
                pass

    def cut(self):
        """Every connection breaks, and no new one comes about."""
        self.is_cut = True
        for end in self.open:
            try:
                end.shutdown(socket.SHUT_RDWR)
            except OSError:
                pass
        self.open = []

    def mend(self):
        self.is_cut = False
        self.carries.set()

    def swallow(self):
        """As when a phone walks out of range: nobody is told."""
        self.carries.clear()

    def close(self):
        self.listener.close()
        self.cut()
        self.carries.set()


class Phone:
    """A browser at the size of a phone."""

    def __init__(self, accept_certificate=False, air=None):
        options = Options()
        options.binary_location = "/usr/bin/chromium"
        self.profile = tempfile.TemporaryDirectory()
        for flag in (
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--disable-dev-shm-usage",
            "--autoplay-policy=user-gesture-required",
            f"--user-data-dir={self.profile.name}",
        ):
            options.add_argument(flag)
        if air:
            options.add_argument(f"--host-resolver-rules=MAP 127.0.0.1 127.0.0.1:{air.port}")
        options.add_experimental_option(
            "mobileEmulation", {"deviceMetrics": {"width": 360, "height": 740, "pixelRatio": 2, "touch": True}}
        )
        options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
        options.set_capability("acceptInsecureCerts", accept_certificate)
        self.driver = webdriver.Chrome(options=options, service=Service("/usr/bin/chromedriver"))

    def open(self, link):
        self.driver.get(link)
        return self

    def find(self, name):
        return self.driver.find_element(By.ID, name)

    def text(self, name):
        return self.run(f"return document.getElementById('{name}').textContent")

    def shown(self, name):
        return self.run(f"return document.getElementById('{name}').checkVisibility()")

    def data(self, name):
        return self.run(f"return document.body.dataset.{name}")

    def tap(self, name):
        element = self.find(name)
        self.run("arguments[0].scrollIntoView({block: 'center'})", element)
        element.click()

    def run(self, script, *arguments):
        return self.driver.execute_script(script, *arguments)

    def complaints(self):
        """Errors on the browser's console; a connection that was cut is none of the page's."""
        log = self.driver.get_log("browser")
        return [e["message"] for e in log if e["level"] == "SEVERE" and "net::ERR" not in e["message"]]

    def asked_for(self):
        """Addresses of every request to a network so far."""
        messages = (json.loads(e["message"])["message"] for e in self.driver.get_log("performance"))
        urls = [m["params"]["request"]["url"] for m in messages if m["method"] == "Network.requestWillBeSent"]
        return [url for url in urls if not url.startswith(("chrome:", "data:"))]

    def picture(self, path, whole=False):
        """A screenshot; of the whole page, not only of what is on the screen, if asked for."""
        self.run("window.scrollTo(0, 0)")
        height = self.run("return document.documentElement.scrollHeight") if whole else 740
        # One dot a pixel keeps it small.
        for height, dots in ((height, 1), (740, 2)):
            view = {"width": 360, "height": height, "deviceScaleFactor": dots, "mobile": True}
            self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", view)
            if dots == 1:
                self.driver.save_screenshot(path)

    def close(self):
        self.driver.quit()
        self.profile.cleanup()
