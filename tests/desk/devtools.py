# SPDX-License-Identifier: GPL-3.0-or-later
"""A browser that is driven: Chromium through its DevTools protocol, over a pipe (two file
descriptors, messages of JSON parted by NUL), so that nothing listens on a port. What is waited for
is a condition in the page, never a length of time."""
import base64
import json
import os
import shutil
import subprocess
import tempfile

FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-sync",
         "--disable-background-networking", "--disable-component-update", "--hide-scrollbars",
         "--remote-debugging-pipe"]
PATIENCE_S = 120  # after which a condition is taken never to come


class Failed(Exception):
    pass


class Browser:
    def __init__(self):
        self.profile = tempfile.mkdtemp(prefix="pappus-browser-")
        to_read, self.out = os.pipe()
        self.into, to_write = os.pipe()

        def place():  # the browser reads descriptor 3 and writes descriptor 4
            reading, writing = os.dup(to_read), os.dup(to_write)
            os.dup2(reading, 3)
            os.dup2(writing, 4)

        self.process = subprocess.Popen(
            ["chromium", *FLAGS, f"--user-data-dir={self.profile}", "about:blank"],
            preexec_fn=place, close_fds=False, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        os.close(to_read)
        os.close(to_write)
        self.number, self.left, self.console, self.loads = 0, b"", [], 0
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        self.session = None
        self.session = self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.call(domain + ".enable")

    def close(self):
        os.close(self.out)
        self.process.terminate()
        self.process.wait()
        os.close(self.into)
        shutil.rmtree(self.profile, ignore_errors=True)

    def read(self):
        while b"\0" not in self.left:
            part = os.read(self.into, 1 << 16)
            if not part:
                raise Failed("the browser has gone")
            self.left += part
        message, self.left = self.left.split(b"\0", 1)
        return json.loads(message)

    def note(self, message):
        """What pages say of themselves that they should not, and how many have been loaded."""
        method, params = message.get("method"), message.get("params", {})
        self.loads += method == "Page.loadEventFired"
        if method == "Runtime.exceptionThrown":
            self.console.append(json.dumps(params["exceptionDetails"])[:600])
        if method == "Log.entryAdded" and params["entry"]["level"] in ("error", "warning"):
            self.console.append(json.dumps(params["entry"])[:600])

    def call(self, method, **params):
        self.number += 1
        message = {"id": self.number, "method": method, "params": params}
        if getattr(self, "session", None):
            message["sessionId"] = self.session
        os.write(self.out, json.dumps(message).encode() + b"\0")
        while True:
            answer = self.read()
            if answer.get("id") == self.number:
                if "error" in answer:
                    raise Failed(f"{method}: {answer['error']}")
                return answer["result"]
            self.note(answer)

    def js(self, expression):
        """The value of an expression in the page; a promise is awaited."""
        result = self.call("Runtime.evaluate", expression=expression, awaitPromise=True,
                           returnByValue=True)
        if "exceptionDetails" in result:
            raise Failed(json.dumps(result["exceptionDetails"])[:800])
        return result["result"].get("value")

    def until(self, condition):
        """Waits, looking at every frame of the page, until a condition holds."""
        held = self.js(f"""new Promise(function (good) {{
            var end = performance.now() + {PATIENCE_S * 1000};
            (function look() {{
                var held = false;
                try {{ held = !!({condition}); }} catch (e) {{}}
                if (held || performance.now() > end) {{ good(held); }}
                else {{ setTimeout(look, 10); }}
            }})();
        }})""")
        if not held:
            raise Failed("never came: " + condition)

    def go(self, address, condition="document.readyState === 'complete'"):
        self.call("Page.navigate", url=address)
        while True:  # the old page may still answer, or the new one go away under the question
            try:
                self.until(f"location.href !== 'about:blank' && ({condition})")
                return
            except Failed as e:
                if "never came" in str(e) or "gone" in str(e):
                    raise

    def scripts(self, on):
        """Those of pages; what is asked by `js` is answered either way, but never waits."""
        self.call("Emulation.setScriptExecutionDisabled", value=not on)

    def load(self, act):
        """Does what leads to a page, and waits until that has been loaded."""
        before = self.loads
        act()
        while self.loads == before:
            self.note(self.read())

    def screen(self, width, height, touch=False):
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=height,
                  deviceScaleFactor=1, mobile=touch)
        self.call("Emulation.setTouchEmulationEnabled", enabled=touch)

    def key(self, key, code=None, text=None):
        for kind in ("keyDown", "keyUp"):
            params = {"type": kind, "key": key, "code": code or key}
            codes = {"Tab": 9, "Enter": 13, "ArrowRight": 39, "ArrowLeft": 37, "ArrowUp": 38}
            if key in codes:
                params["windowsVirtualKeyCode"] = codes[key]
            if kind == "keyDown" and (text or key == "Enter"):
                params["text"] = text or "\r"
            self.call("Input.dispatchKeyEvent", **params)

    def click(self, selector, times=1):
        """A mouse, where the middle of an element is."""
        self.js(f"document.querySelector({json.dumps(selector)}).scrollIntoView({{block: 'center'}})")
        x, y = self.js(f"(function (r) {{ return [r.x + r.width / 2, r.y + r.height / 2]; }})"
                       f"(document.querySelector({json.dumps(selector)}).getBoundingClientRect())")
        for count in range(1, times + 1):
            self.click_at(x, y, count)

    def click_at(self, x, y, count=1):
        for kind in ("mousePressed", "mouseReleased"):
            self.call("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=count)

    def picture(self, path):
        shot = self.call("Page.captureScreenshot", format="png", captureBeyondViewport=True)
        with open(path, "wb") as f:
            f.write(base64.b64decode(shot["data"]))
