"""A real JupyterLab, a real Chromium, everything on this machine: what the browser tests and the latency benchmark share."""
import contextlib
import json
import os
import re
import secrets
import shutil
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

NOTEBOOKS = Path(__file__).parents[1] / "notebooks"
NAMES = sorted(p.name for p in NOTEBOOKS.glob("0[0-9]*.ipynb"))   # those whose first control moves a figure
CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--disable-background-networking", "--disable-component-update", "--disable-sync",
         "--no-first-run"]

PATIENCE = 180_000   # ms: a busy machine is no fault of the kit's

needs_browser = [pytest.mark.browser, pytest.mark.slow,
                 pytest.mark.skipif(not CHROMIUM, reason="no Chromium on this machine: install one, or name it in CHROMIUM")]


@pytest.fixture(scope="session")
def lab(tmp_path_factory):
    """JupyterLab on a copy of the notebooks, with folders of its own, so that nobody's settings or files are touched."""
    home = tmp_path_factory.mktemp("lab")
    shutil.copytree(NOTEBOOKS, home / "notebooks", ignore=shutil.ignore_patterns("out", ".ipynb_checkpoints"))
    quiet = home / "settings" / "@jupyterlab" / "apputils-extension"
    quiet.mkdir(parents=True)
    (quiet / "notification.jupyterlab-settings").write_text(json.dumps({"fetchNews": "false", "checkForUpdates": False}))
    env = os.environ | {"JUPYTER_CONFIG_DIR": str(home / "config"), "JUPYTER_DATA_DIR": str(home / "data"), "JUPYTERLAB_SETTINGS_DIR": str(home / "settings"),
                        "JUPYTERLAB_WORKSPACES_DIR": str(home / "workspaces"), "IPYTHONDIR": str(home / "ipython")}
    token = secrets.token_hex(16)

    def command(port):
        return [sys.executable, "-m", "jupyterlab", "--no-browser", "--ip=127.0.0.1", f"--port={port}", "--ServerApp.port_retries=0",
                f"--IdentityProvider.token={token}", "--allow-root", f"--ServerApp.root_dir={home / 'notebooks'}"]

    with served(command, env, home / "lab.log") as base:
        yield base, token, home / "notebooks"


@contextlib.contextmanager
def served(command, env, log_path, cwd=None):
    """A server started by command(port), until it answers; its address. It is stopped in the end."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    with open(log_path, "w") as log:
        server = subprocess.Popen(command(port), env=env, stdout=log, stderr=subprocess.STDOUT, cwd=cwd)
    try:
        for _ in range(600):
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=1):
                break
            assert server.poll() is None, log_path.read_text()[-2000:]
            time.sleep(0.1)
        yield f"http://127.0.0.1:{port}"
    finally:
        server.terminate()
        server.wait(30)


@pytest.fixture(scope="session")
def browser():
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed: pip install -e '.[test]'")
    with playwright.sync_playwright() as player:
        chromium = player.chromium.launch(executable_path=CHROMIUM, headless=True, args=FLAGS)
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def window(browser):
    """One for all pages, so that what JupyterLab is made of is loaded once."""
    return browser.new_context(viewport={"width": 1280, "height": 900})


@pytest.fixture
def page(window):
    tab = window.new_page()
    tab.set_default_timeout(PATIENCE)
    tab.strangers = []   # requests that leave this machine
    tab.on("request", lambda r: None if re.match(r"(data:|blob:|(http|ws)://127\.0\.0\.1)", r.url) else tab.strangers.append(r.url))
    yield tab
    tab.close()


def open_and_run(page, base, token, name):
    page.goto(f"{base}/lab/tree/{name}?token={token}&reset")
    page.wait_for_selector('.jp-Notebook-ExecutionIndicator[data-status="idle"]')
    for _ in range(600):   # asked to run before the session stands, Lab would open a dialog about kernels instead
        sessions = page.request.get(f"{base}/api/sessions?token={token}").json()
        if any(s["path"] == name and s["kernel"]["execution_state"] == "idle" and s["kernel"]["connections"] for s in sessions):
            break
        page.wait_for_timeout(200)
    page.wait_for_timeout(1000)
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
    still = 0
    for _ in range(3000):   # folded cells have no prompt to look at: the page has run when its kernel rests, and goes on resting
        sessions = page.request.get(f"{base}/api/sessions?token={token}").json()
        resting = any(s["path"] == name and s["kernel"]["execution_state"] == "idle" for s in sessions)
        waiting = page.evaluate("() => [...document.querySelectorAll('.jp-InputPrompt')].some(e => e.textContent.includes('*'))")
        still = still + 1 if resting and not waiting else 0
        if still == 12:
            return
        page.wait_for_timeout(150)
    raise AssertionError(f"{name} did not come to its end")


def end_all_kernels(page, base, token):
    for session in page.request.get(f"{base}/api/sessions?token={token}").json():
        page.request.delete(f"{base}/api/sessions/{session['id']}?token={token}")


def no_error(page):
    return page.locator('[data-mime-type="application/vnd.jupyter.error"]').count() == 0 and not page.strangers


# {words: contrast} of what stands in the page with less than 4.5 to 1 (WCAG 2.2, 1.4.3, whose relative luminance this is), by its computed styles
FAINT = """within => {
    const parts = colour => [...colour.match(/[\\d.]+/g).map(Number), 1].slice(0, 4);
    const light = ([r, g, b]) => [r, g, b].map(v => v / 255).map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)
        .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
    const over = (top, under) => [0, 1, 2].map(i => top[i] * top[3] + under[i] * (1 - top[3])).concat(1);
    const ground = e => e ? over(parts(getComputedStyle(e).backgroundColor), ground(e.parentElement)) : [255, 255, 255, 1];
    const written = e => [...e.childNodes].some(n => n.nodeType == 3 && n.textContent.trim()) || ['INPUT', 'TEXTAREA'].includes(e.tagName);
    const faint = {};
    for (const e of document.querySelectorAll(within + ' *')) {
        if (!e.getClientRects().length || e.disabled || e.closest('.cm-editor') || !written(e)) continue;
        const below = ground(e), [dark, bright] = [light(over(parts(getComputedStyle(e).color), below)), light(below)].sort((a, b) => a - b);
        const contrast = (bright + 0.05) / (dark + 0.05);
        if (contrast < 4.5) faint[e.tagName + ' ' + (e.textContent || e.value).trim().slice(0, 40)] = contrast.toFixed(2);
    }
    return faint; }"""
# what of a page stands out beyond its right edge, where nothing around it scrolls (a wide table does)
BEYOND = """() => [...document.querySelectorAll('body *')].filter(e => e.getBoundingClientRect().right > document.documentElement.clientWidth + 1
    && e.getBoundingClientRect().width && ![...function* () { for (let p = e.parentElement; p != document.body; p = p.parentElement) yield p; }()].some(
        p => /auto|scroll/.test(getComputedStyle(p).overflowX))).map(e => e.outerHTML.slice(0, 120))"""


def pressed(page, name, words):
    """Sends a form by the keyboard, as its page says one can (a click may fall where the page has just moved on), and waits for what it
    then says, as it would be read out."""
    said = page.get_by_role("status").filter(has_text=words).first
    for wait in (PATIENCE / 6, PATIENCE):
        page.get_by_role("button", name=name).press("Space")
        try:
            return said.wait_for(timeout=wait)
        except Exception:   # whose message does not tell what the page says instead; pressed before its kernel listens, nothing
            heard = list(filter(str.strip, page.locator("[role=status], [role=alert]").all_inner_texts()))
    raise AssertionError(f"{name!r} never brought {words!r}; the page says {heard}, its boxes hold "
                         f"{[box.input_value() for box in page.get_by_role('textbox').all()]}")
