#!/usr/bin/env python3
"""Opens HTML files in headless Chromium and holds them to what a browser, axe-core and poppler make of them:

    python3 tests/oracle/browser.py NOTE.html ... [--pictures FOLDER]
    python3 tests/oracle/browser.py --there        whether chromium, axe-core and poppler are there

Each file: one request, which is the file itself; nothing on the console; no finding of axe-core, and nothing that it could
not decide; the accessibility tree says the text in its order, and so does the page from top to bottom; no sideways
scrolling at 320 CSS pixels (WCAG 2.2, 1.4.10); printed on Letter and A4, every row of a table and the diagram are on one
page, each row with its table's head, no heading is the last thing on a page, and no word leaves the paper.

axe-core comes in the Python package axe-playwright-python, of which nothing else is used; Chromium is spoken to in its
own protocol down a pipe.
"""

import argparse
import base64
import importlib.util
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unicodedata

PAPERS = {"Letter": (8.5, 11.0), "A4": (8.268, 11.693)}
# What holds text and no other of these.
LEAVES = "h1, h2, h3, h4, p, li, dt, dd, caption, th, td"


def chromium():
    return next((path for name in ("chromium", "chromium-browser") if (path := shutil.which(name))), None)


def axe():
    package = importlib.util.find_spec("axe_playwright_python")
    folders = package.submodule_search_locations if package else []
    return next((file for folder in folders if (file := pathlib.Path(folder) / "axe.min.js").is_file()), None)


class Browser:
    """A headless Chromium, spoken to over a pair of pipes, messages ended by a zero byte."""

    def __init__(self):
        self.home = tempfile.TemporaryDirectory(ignore_cleanup_errors=True)
        to_browser, self.out = os.pipe()
        self.back, from_browser = os.pipe()

        def place():
            # Where the protocol's pipes belong; first out of the way of each other.
            reads, writes = os.dup(to_browser), os.dup(from_browser)
            high = (os.dup(reads), os.dup(writes))
            os.dup2(high[0], 3)
            os.dup2(high[1], 4)

        options = ["--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run",
                   "--hide-scrollbars", "--remote-debugging-pipe", f"--user-data-dir={self.home.name}", "about:blank"]
        self.process = subprocess.Popen([chromium(), *options], preexec_fn=place, pass_fds=(3, 4),
                                        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        os.close(to_browser)
        os.close(from_browser)
        self.rest, self.number, self.events, self.session = b"", 0, [], None

    def __enter__(self):
        return self

    def __exit__(self, *_):
        try:
            self.session = None
            self.ask("Browser.close")
        except EOFError:
            pass
        self.process.wait(timeout=30)
        self.home.cleanup()

    def message(self):
        while b"\0" not in self.rest:
            more = os.read(self.back, 1 << 16)
            if not more:
                raise EOFError("Chromium went away")
            self.rest += more
        text, self.rest = self.rest.split(b"\0", 1)
        return json.loads(text)

    def ask(self, method, **params):
        self.number += 1
        message = {"id": self.number, "method": method, "params": params}
        if self.session:
            message["sessionId"] = self.session
        self.write(json.dumps(message).encode() + b"\0")
        while True:
            answer = self.message()
            if answer.get("id") == self.number:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']}")
                return answer["result"]
            if "method" in answer:
                self.events.append(answer)

    def write(self, data):
        while data:
            data = data[os.write(self.out, data):]

    def open(self, url):
        """A page of its own, loaded."""
        self.session, self.events = None, []
        target = self.ask("Target.createTarget", url="about:blank")["targetId"]
        self.session = self.ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network", "Accessibility"):
            self.ask(f"{domain}.enable")
        self.ask("Page.navigate", url=url)
        while not any(event["method"] == "Page.loadEventFired" for event in self.events):
            self.events.append(self.message())
        return target

    def close(self, target):
        self.session = None
        self.ask("Target.closeTarget", targetId=target)

    def run(self, script, wait=False):
        result = self.ask("Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=wait)
        if "exceptionDetails" in result:
            raise RuntimeError(result["exceptionDetails"])
        return result["result"].get("value")

    def of(self, *methods):
        return [event["params"] for event in self.events if event["method"] in methods]


def letters(text):
    """Without spaces, which are the form's, and with ligatures taken apart."""
    return re.sub(r"[\s\u200e\u200f\u202a-\u202e]", "", unicodedata.normalize("NFKC", text))


def leftward(text):
    return any(unicodedata.bidirectional(letter) in ("R", "AL") for letter in text)


READ = """(() => {
  const drawn = [...document.querySelectorAll('svg text')].map(t => t.textContent);
  const leaves = [...document.querySelectorAll(%r)].map(e => {
    const box = e.getClientRects()[0] || {top: 0, left: 0};
    return {tag: e.tagName, text: e.textContent, top: box.top, left: box.left,
            label: e.tagName == 'DT' && e.closest('.says') != null};
  });
  const tables = [...document.querySelectorAll('table')].map(t => ({
    head: t.tHead.textContent, rows: [...t.tBodies[0].rows].map(r => r.textContent)}));
  return {leaves, drawn, tables};
})()""" % LEAVES


def spoken(browser):
    """What the accessibility tree says, in its order; pictures by their name alone."""
    nodes = {node["nodeId"]: node for node in browser.ask("Accessibility.getFullAXTree")["nodes"]}
    root = next(node for node in nodes.values() if "parentId" not in node)
    said, pictures, todo = [], [], [root]
    while todo:
        node = todo.pop()
        role = node.get("role", {}).get("value")
        if role in ("image", "img", "graphics-document"):
            pictures.append((node.get("name", {}).get("value"), node.get("description", {}).get("value")))
            continue
        if role == "ListMarker":
            continue
        if role == "StaticText":
            said.append(node["name"]["value"])
        todo.extend(nodes[child] for child in reversed(node.get("childIds", [])) if child in nodes)
    return "".join(said), pictures


def on_screen(browser, url, wrong):
    requests = [request["request"]["url"] for request in browser.of("Network.requestWillBeSent")]
    if requests != [url]:
        wrong(f"asks for {requests}")
    page = browser.run(READ)
    leaves = page["leaves"]
    for one, two in zip(leaves, leaves[1:]):
        beside = abs(two["top"] - one["top"]) <= 2
        if two["top"] < one["top"] - 2 or beside and two["left"] < one["left"]:
            wrong(f"stands before what it follows: {two['text'][:60]!r}")
    said, pictures = spoken(browser)
    written = "".join(leaf["text"] + (":" if leaf["label"] else "") for leaf in leaves)
    if letters(said) != letters(written):
        wrong("the accessibility tree does not say the text in its order")
    if bool(page["drawn"]) != bool(pictures) or any(not name or not means for name, means in pictures):
        wrong(f"a picture without name or description: {pictures}")
    browser.ask("Emulation.setDeviceMetricsOverride", width=320, height=640, deviceScaleFactor=1, mobile=False)
    if (wide := browser.run("document.documentElement.scrollWidth")) > 320:
        wrong(f"{wide} pixels wide on a screen of 320")
    browser.ask("Emulation.clearDeviceMetricsOverride")
    return page


def judged(browser, wrong):
    browser.run(axe().read_text(encoding="utf-8"))
    report = browser.run("axe.run({resultTypes: ['violations', 'incomplete', 'passes']})", wait=True)
    for kind in ("violations", "incomplete"):
        for rule in report[kind]:
            # It does not work out what lies behind the letters of a drawing: they are dark on white, WCAG 1.4.3.
            drawn = all(node["html"].startswith("<text") for node in rule["nodes"])
            if kind == "incomplete" and rule["id"] == "color-contrast" and drawn:
                continue
            wrong(f"axe-core, {kind}: {rule['id']}: {rule['help']}: {rule['nodes'][0]['html'][:120]}")
    if len(report["passes"]) < 10:
        wrong(f"axe-core looked at {len(report['passes'])} rules only")
    return f"axe-core {report['testEngine']['version']}: {len(report['passes'])} rules passed"


def printed(browser, paper, page, wrong):
    width, height = PAPERS[paper]
    pdf = base64.b64decode(browser.ask("Page.printToPDF", paperWidth=width, paperHeight=height, printBackground=True,
                                       marginTop=0.59, marginBottom=0.59, marginLeft=0.59, marginRight=0.59)["data"])
    with tempfile.NamedTemporaryFile(suffix=".pdf") as file:
        file.write(pdf)
        file.flush()
        read = lambda *options: subprocess.run(["pdftotext", *options, file.name, "-"], check=True,
                                               capture_output=True, text=True).stdout
        pages = [letters(text) for text in read("-raw").rstrip("\f").split("\f")]
        boxes = read("-bbox")
    for right in re.findall(r'xMax="([\d.]+)"', boxes):
        if float(right) > width * 72 - 20:
            wrong(f"{paper}: a word reaches {right} points to the right")
    for table in page["tables"]:
        head = letters(table["head"])
        for row in map(letters, table["rows"]):
            if leftward(row) or any(row in one and head in one for one in pages):
                continue
            cut = "cut" if not any(row in one for one in pages) else "without its head"
            wrong(f"{paper}: a row is {cut}: {row[:80]}")
    if page["drawn"] and not any(all(letters(text) in one for text in page["drawn"]) for one in pages):
        wrong(f"{paper}: the diagram is cut")
    whole, at = "".join(pages), 0
    for leaf in page["leaves"]:
        text = letters(leaf["text"])
        if leftward(text) or leaf["tag"] in ("CAPTION", "TH"):
            continue
        if (found := whole.find(text, at)) < 0 and len(text) < 2000:
            wrong(f"{paper}: not printed, or not in order: {text[:80]}")
        at = max(at, found)
        if leaf["tag"].startswith("H") and any(one.endswith(text) for one in pages[:-1]):
            wrong(f"{paper}: a heading is the last thing on its page: {text}")
    return pdf, len(pages)


def check(browser, path, pictures):
    faults = []
    url = path.resolve().as_uri()
    target = browser.open(url)
    page = on_screen(browser, url, faults.append)
    if pictures:
        browser.ask("Emulation.setDeviceMetricsOverride", width=900, height=1200, deviceScaleFactor=1, mobile=False)
        shot = browser.ask("Page.captureScreenshot", captureBeyondViewport=True)
        (pictures / f"{path.stem}.png").write_bytes(base64.b64decode(shot["data"]))
        browser.ask("Emulation.clearDeviceMetricsOverride")
    said = []
    for paper in PAPERS:
        pdf, many = printed(browser, paper, page, faults.append)
        said.append(f"{paper}: {many} pages")
        if pictures:
            (pictures / f"{path.stem}-{paper}.pdf").write_bytes(pdf)
    said.append(judged(browser, faults.append))
    for event in browser.of("Runtime.consoleAPICalled", "Runtime.exceptionThrown", "Log.entryAdded"):
        faults.append(f"on the console: {json.dumps(event)[:200]}")
    browser.close(target)
    print(f"{path.name}: {'; '.join(said)}")
    for fault in faults:
        print(f"{path.name}: WRONG: {fault}")
    return not faults


def main():
    parser = argparse.ArgumentParser(description="HTML files in headless Chromium")
    parser.add_argument("files", nargs="*", type=pathlib.Path)
    parser.add_argument("--pictures", type=pathlib.Path, help="keep a picture and the printed PDFs here")
    parser.add_argument("--there", action="store_true", help="only whether what it takes is there")
    arguments = parser.parse_args()
    needed = {"chromium": chromium(), "axe-core": axe(), "pdftotext": shutil.which("pdftotext")}
    missing = [name for name, there in needed.items() if not there]
    if missing:
        print(f"missing: {', '.join(missing)}")
        return 3
    if arguments.there:
        return 0
    if arguments.pictures:
        arguments.pictures.mkdir(parents=True, exist_ok=True)
    with Browser() as browser:
        good = [check(browser, path, arguments.pictures) for path in arguments.files]
    return 0 if good and all(good) else 1


if __name__ == "__main__":
    sys.exit(main())
