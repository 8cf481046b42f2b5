"""The real page in Debian's chromium; without a browser these tests are skipped, and fail where CI is set."""

import os
import shutil
import sys
from pathlib import Path
from urllib.parse import urlsplit

import pytest

ROOT = Path(__file__).parents[2]
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--disable-quic",
]
OURS = ("localhost", "127.0.0.1")
QUIET = """() => {
    const state = document.querySelector('[data-testid="stApp"]')?.dataset.testScriptState;
    if (state !== "notRunning") window.quietSince = 0;
    else window.quietSince ||= performance.now();
    return state === "notRunning" && performance.now() - window.quietSince > 400;
}"""
LOG = pytest.StashKey[Path]()


@pytest.hookimpl(hookwrapper=True)
def pytest_runtest_makereport(item):
    """Show the server's log under a test that failed."""
    report = (yield).get_result()
    log = item.config.stash.get(LOG, None)
    if report.failed and log is not None and log.exists():
        report.sections.append(("log of the page", log.read_text(encoding="utf-8", errors="replace")[-5000:]))


@pytest.fixture(scope="session")
def page_server(serve, tmp_path_factory, pytestconfig):
    """The page as a person starts it, on a port of its own."""
    log = tmp_path_factory.mktemp("page") / "page.log"
    pytestconfig.stash[LOG] = log
    quiet = {
        "STREAMLIT_SERVER_FILE_WATCHER_TYPE": "none",  # a file saved meanwhile is not to rerun the page
        "MELTWISE_CACHE": str(tmp_path_factory.mktemp("melting")),
    }
    with serve([sys.executable, "-m", "streamlit", "run", "app.py"], ROOT, log, **quiet) as server:
        yield server


@pytest.fixture(scope="session")
def chromium():
    """Debian's browser, driven by playwright."""
    path = shutil.which("chromium")
    if path is None:
        (pytest.fail if os.environ.get("CI") else pytest.skip)("no chromium on the path")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=path, args=FLAGS)
        yield browser
        browser.close()


class Visit:
    """One browser window with nothing remembered, and what went wrong in it."""

    def __init__(self, context, address):
        self.page = context.new_page()
        self.address = address
        self.errors = []
        self.abroad = []
        self.page.on("console", lambda message: message.type == "error" and self.errors.append(message.text))
        self.page.on("pageerror", lambda error: self.errors.append(str(error)))
        self.page.on("request", lambda request: self._watch(request.url))
        self.page.on("websocket", lambda socket: self._watch(socket.url))

    def _watch(self, url):
        parts = urlsplit(url)
        if parts.scheme not in {"data", "blob", "about"} and parts.hostname not in OURS:
            self.abroad.append(url)

    def open(self, query=""):
        """Open the page and wait until its script has run and its charts are drawn."""
        self.page.goto(f"{self.address}/{query}")
        self.settled()
        return self.page

    def settled(self):
        """Wait until no script has run for a while: a click takes a moment to start one."""
        self.page.get_by_test_id("stAppViewContainer").wait_for()
        self.page.get_by_role("heading", level=2).first.wait_for()
        self.page.evaluate("window.quietSince = 0")
        self.page.wait_for_function(QUIET, polling=50)


@pytest.fixture
def visit(chromium, page_server):
    """Open windows: `visit()` or `visit(color_scheme="dark")`; none may log an error or ask another machine."""
    contexts, visits = [], []

    def start(**options):
        contexts.append(chromium.new_context(viewport={"width": 1280, "height": 900}, **options))
        visits.append(Visit(contexts[-1], page_server.address))
        return visits[-1]

    yield start
    for context in contexts:
        context.close()
    assert [error for each in visits for error in each.errors] == []
    assert [url for each in visits for url in each.abroad] == []
