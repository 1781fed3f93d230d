"""The notebooks as a person meets them: a real JupyterLab in a real browser, everything on this machine."""
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

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed: pip install -e '.[test]'")

NOTEBOOKS = Path(__file__).parents[1] / "notebooks"
NAMES = sorted(p.name for p in NOTEBOOKS.glob("0[0-9]*.ipynb"))   # those whose first control moves a figure
CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--disable-background-networking", "--disable-component-update", "--disable-sync",
         "--no-first-run"]

pytestmark = [pytest.mark.browser, pytest.mark.slow,
              pytest.mark.skipif(not CHROMIUM, reason="no Chromium on this machine: install one, or name it in CHROMIUM")]


@pytest.fixture(scope="module")
def lab(tmp_path_factory):
    """JupyterLab on a copy of the notebooks, with folders of its own, so that nobody's settings or files are touched."""
    home = tmp_path_factory.mktemp("lab")
    shutil.copytree(NOTEBOOKS, home / "notebooks", ignore=shutil.ignore_patterns("out", ".ipynb_checkpoints"))
    quiet = home / "settings" / "@jupyterlab" / "apputils-extension"
    quiet.mkdir(parents=True)
    (quiet / "notification.jupyterlab-settings").write_text(json.dumps({"fetchNews": "false", "checkForUpdates": False}))
    env = os.environ | {"JUPYTER_CONFIG_DIR": str(home / "config"), "JUPYTER_DATA_DIR": str(home / "data"), "JUPYTERLAB_SETTINGS_DIR": str(home / "settings"),
                        "JUPYTERLAB_WORKSPACES_DIR": str(home / "workspaces"), "IPYTHONDIR": str(home / "ipython")}
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    token = secrets.token_hex(16)
    command = [sys.executable, "-m", "jupyterlab", "--no-browser", "--ip=127.0.0.1", f"--port={port}", "--ServerApp.port_retries=0",
               f"--IdentityProvider.token={token}", "--allow-root", f"--ServerApp.root_dir={home / 'notebooks'}"]
    with open(home / "lab.log", "w") as log:
        server = subprocess.Popen(command, env=env, stdout=log, stderr=subprocess.STDOUT)
    try:
        for _ in range(600):
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=1):
                break
            assert server.poll() is None, (home / "lab.log").read_text()[-2000:]
            time.sleep(0.1)
        yield f"http://127.0.0.1:{port}", token, home / "notebooks"
    finally:
        server.terminate()
        server.wait(30)


@pytest.fixture(scope="module")
def browser():
    with playwright.sync_playwright() as player:
        chromium = player.chromium.launch(executable_path=CHROMIUM, headless=True, args=FLAGS)
        yield chromium
        chromium.close()


@pytest.fixture
def page(browser):
    tab = browser.new_context(viewport={"width": 1280, "height": 900}).new_page()
    tab.strangers = []   # requests that leave this machine
    tab.on("request", lambda r: None if re.match(r"(data:|blob:|(http|ws)://127\.0\.0\.1)", r.url) else tab.strangers.append(r.url))
    yield tab
    tab.context.close()


def open_and_run(page, base, token, name):
    page.goto(f"{base}/lab/tree/{name}?token={token}&reset")
    page.wait_for_selector('.jp-Notebook-ExecutionIndicator[data-status="idle"]', timeout=120_000)
    for _ in range(600):   # asked to run before the session stands, Lab would open a dialog about kernels instead
        sessions = page.request.get(f"{base}/api/sessions?token={token}").json()
        if any(s["path"] == name and s["kernel"]["execution_state"] == "idle" and s["kernel"]["connections"] for s in sessions):
            break
        page.wait_for_timeout(200)
    page.wait_for_timeout(1000)
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
    page.wait_for_function("""() => { const p = [...document.querySelectorAll('.jp-CodeCell .jp-InputArea-prompt')].map(e => e.textContent.trim());
        return p.length > 0 && p.every(t => /^\\[\\d+\\]:$/.test(t)); }""", timeout=300_000)


@pytest.mark.parametrize("name", NAMES)
def test_notebook_runs_and_its_first_control_moves_the_figure(lab, page, name):
    base, token, _ = lab
    open_and_run(page, base, token, name)
    assert page.locator('[data-mime-type="application/vnd.jupyter.error"]').count() == 0
    panel = page.locator(".kit-panel").first
    panel.scroll_into_view_if_needed()
    picture = panel.locator("img")
    before, words = picture.get_attribute("src"), panel.inner_text()
    control = panel.locator(".noUi-handle, select").first
    if control.evaluate("e => e.tagName") == "SELECT":
        control.select_option(index=1 if control.evaluate("e => e.selectedIndex") == 0 else 0)
    else:   # by keyboard, as somebody without a mouse would
        control.focus()
        page.keyboard.press("PageUp")
    page.wait_for_function("([p, old, words]) => p.querySelector('img').src !== old && p.innerText !== words",
                           arg=[panel.element_handle(), before, words], timeout=60_000)
    assert not page.strangers, page.strangers


def test_save_button_writes_figure_caption_and_data(lab, page):
    base, token, folder = lab
    open_and_run(page, base, token, "00_start.ipynb")
    before = set((folder / "out").iterdir()) if (folder / "out").exists() else set()
    panel = page.locator(".kit-panel").first
    panel.scroll_into_view_if_needed()
    panel.get_by_role("button", name="Save figure, caption and data").click()
    page.wait_for_selector("text=Saved:", timeout=60_000)
    saved = {p.name: p for p in set((folder / "out").iterdir()) - before}
    assert set(saved) == {f"harbour-dial-margins.{end}" for end in ("pdf", "svg", "png", "txt", "csv")}
    assert "chance" in saved["harbour-dial-margins.txt"].read_text(encoding="utf-8")


def no_error(page):
    return page.locator('[data-mime-type="application/vnd.jupyter.error"]').count() == 0 and not page.strangers


def told(page, words):
    """Waits for what a form says, as it would be read out."""
    page.get_by_role("status").filter(has_text=words).first.wait_for(timeout=60_000)


def test_a_write_up_is_looked_at_and_saved(lab, page):
    base, token, folder = lab
    open_and_run(page, base, token, "10_write_up.ipynb")
    desk = page.locator(".kit-proofs")
    desk.scroll_into_view_if_needed()
    picture = desk.locator("img")
    assert picture.get_attribute("alt")
    before = picture.get_attribute("src")
    desk.get_by_role("button", name="190 mm").click()
    page.wait_for_function("([p, old]) => p.querySelector('img').src !== old", arg=[desk.element_handle(), before], timeout=60_000)
    assert picture.get_attribute("style").startswith("width:190.0mm")
    for box in desk.get_by_role("checkbox").all()[1:-1]:   # one figure will do
        box.uncheck()
    desk.get_by_role("button", name="Save the bundle").click()
    page.wait_for_selector(".kit-proofs >> text=holds", timeout=180_000)
    bundle, = (folder / "out").glob("the-harbour-dial-*")
    assert (bundle / "report.pdf").exists() and list((bundle / "figures").glob("*-190mm.svg")) and no_error(page)


def test_a_group_predicts_and_finds_its_predictions_again(lab, page):
    base, token, folder = lab
    open_and_run(page, base, token, "11_workshop_session.ipynb")
    page.get_by_label("code of your group").first.fill("B7")
    page.get_by_role("button", name="Begin").click()
    told(page, "Group B7:")
    for which, typed in (("lowest", "about 1"), ("best guess", "2,0"), ("highest", "30")):
        boxes = page.get_by_label(re.compile(which)).all()
        assert len(boxes) == 4
        for box in boxes:
            box.fill(typed)
    page.get_by_label(re.compile("^wall, highest")).fill("0.1 in")
    page.get_by_role("button", name="Lock these predictions").click()
    told(page, "Locked, with the time")
    held, = (folder / "out" / "session").iterdir()
    assert held.name == "group-B7.csv" and held.read_text(encoding="utf-8").count("prediction") == 4
    for session in page.request.get(f"{base}/api/sessions?token={token}").json():   # the kernel dies
        page.request.delete(f"{base}/api/sessions/{session['id']}?token={token}")
    open_and_run(page, base, token, "11_workshop_session.ipynb")
    page.get_by_label("code of your group").first.fill("B7")
    page.get_by_role("button", name="Go on with this code").click()
    told(page, "Group B7:")
    box = page.get_by_label(re.compile("^wall, highest"))
    assert box.input_value() == "2.54" and box.is_disabled() and no_error(page)


def test_the_leaders_page_runs(lab, page):
    base, token, _ = lab
    open_and_run(page, base, token, "12_session_leader.ipynb")
    assert no_error(page) and page.get_by_text("face down until all predictions are locked").count()


def test_a_word_is_looked_up(lab, page):
    base, token, _ = lab
    open_and_run(page, base, token, "13_glossary.ipynb")
    page.get_by_label("find").fill("arbor")
    page.wait_for_selector("text=Round rod on which a bored piece is held", timeout=30_000)
    assert no_error(page)


def test_the_session_as_a_page_without_code(browser, lab, tmp_path):
    pytest.importorskip("voila", reason="voila is not installed: pip install -e '.[kiosk]'")
    _, _, folder = lab
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "voila", "11_workshop_session.ipynb", "--no-browser", "--Voila.ip=127.0.0.1", f"--port={port}", "--Voila.open_browser=False"]
    env = os.environ | {name: str(tmp_path / name) for name in ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "IPYTHONDIR")}
    with open(tmp_path / "voila.log", "w") as log:
        server = subprocess.Popen(command, env=env, stdout=log, stderr=subprocess.STDOUT, cwd=folder)
    try:
        for _ in range(600):
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=1):
                break
            assert server.poll() is None, (tmp_path / "voila.log").read_text()[-2000:]
            time.sleep(0.1)
        tab = browser.new_context(viewport={"width": 1280, "height": 720}).new_page()
        outside = []
        tab.route(re.compile(r"^https?://(?!127\.0\.0\.1)"), lambda route: (outside.append(route.request.url), route.abort()))
        tab.goto(f"http://127.0.0.1:{port}/", timeout=120_000)
        tab.get_by_label("code of your group").first.fill("K1")
        tab.get_by_role("button", name="Begin").click()
        told(tab, "Group K1:")
        assert tab.locator(".jp-InputArea-editor").count() == 0   # no code is shown
        assert all("font" in url for url in outside), outside   # an icon font, which it does without
        tab.context.close()
    finally:
        server.terminate()
        server.wait(30)


NAMED = [("slider", "wall of the sleeves / mm"), ("textbox", "wall of the sleeves / mm"), ("button", "Reset wall of the sleeves to 0.40 mm"),
         ("slider", "first bore / mm"), ("textbox", "first bore / mm"), ("slider", "pulley / mm"), ("listbox", "order of work"),
         ("listbox", "state of the edges"), ("button", "Save figure, caption and data"), ("button", "All to starting values"),
         ("checkbox", "inch, °F, lbf"), ("checkbox", "larger")]


def test_controls_have_names_and_work_by_keyboard_alone(lab, page):
    base, token, _ = lab
    page.set_viewport_size({"width": 1280, "height": 720})
    open_and_run(page, base, token, "01_the_claim.ipynb")
    panel = page.locator(".kit-panel").first
    panel.scroll_into_view_if_needed()
    page.wait_for_selector(".kit-panel .noUi-handle[aria-labelledby]")
    for role, name in NAMED:
        assert panel.get_by_role(role, name=name, exact=True).count() == 1, (role, name)
    words = panel.locator(".kit-shown [aria-live=polite]")
    assert panel.get_by_role("img").get_attribute("alt") == words.inner_text()
    # panel and figure on one screen
    assert panel.bounding_box()["height"] <= page.locator(".jp-WindowedPanel-outer").first.bounding_box()["height"]

    def moves(key, text=None):
        """The picture changes, and no cell is left or cut."""
        cells = [page.locator(".jp-Cell").count(), page.locator(".jp-Cell.jp-mod-selected").first.evaluate("c => [...c.parentNode.children].indexOf(c)")]
        before = panel.locator("img").get_attribute("src")
        page.keyboard.type(text or "")
        page.keyboard.press(key)
        page.wait_for_function("([p, old]) => p.querySelector('img').src !== old", arg=[panel.element_handle(), before], timeout=10_000)
        assert cells == [page.locator(".jp-Cell").count(), page.locator(".jp-Cell.jp-mod-selected").first.evaluate("c => [...c.parentNode.children].indexOf(c)")]

    box = panel.get_by_role("textbox", name="wall of the sleeves / mm")
    box.focus()
    page.keyboard.press("Control+a")
    moves("Enter", "0,3")
    assert box.input_value() == "0.30"
    page.keyboard.press("Tab")
    moves("Space")   # Reset
    assert box.input_value() == "0.40"
    page.keyboard.press("Tab")
    moves("ArrowRight")
    assert box.input_value() == "0.41"
    for key in ("x", "d", "d"):   # JupyterLab's keys for cutting and deleting a cell
        page.keyboard.press(key)
    panel.get_by_role("listbox", name="order of work").focus()
    moves("ArrowDown")
    panel.get_by_role("checkbox", name="inch, °F, lbf").focus()
    page.keyboard.press("Space")
    panel.get_by_role("textbox", name="wall of the sleeves / in").wait_for()
    assert panel.get_by_role("textbox", name="wall of the sleeves / in").input_value() == "0.0161"
    assert panel.get_by_role("slider", name="wall of the sleeves / in", exact=True).count() == 1
    panel.get_by_role("button", name="All to starting values").focus()
    moves("Space")


def test_values_survive_a_new_kernel(lab, page):
    base, token, folder = lab
    open_and_run(page, base, token, "06_plunger.ipynb")
    panel = page.locator(".kit-panel").first
    panel.scroll_into_view_if_needed()
    box = panel.get_by_role("textbox", name="hold wanted / s")
    box.fill("7,5")
    box.press("Enter")
    page.wait_for_function("p => p.querySelector('.kit-shown').innerText.includes('7.50 s wanted')", arg=panel.element_handle(), timeout=30_000)
    assert '"hold": "7.5 s"' in (folder / "out" / "plunger.values.json").read_text(encoding="utf-8")
    page.request.delete(f"{base}/api/sessions/{page.request.get(f'{base}/api/sessions?token={token}').json()[0]['id']}?token={token}")
    page.wait_for_timeout(1000)
    open_and_run(page, base, token, "06_plunger.ipynb")
    panel = page.locator(".kit-panel").first
    panel.scroll_into_view_if_needed()
    assert panel.get_by_role("textbox", name="hold wanted / s").input_value() == "7.5" and "7.50 s wanted" in panel.locator(".kit-shown").inner_text()
