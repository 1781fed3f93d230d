"""The pages without code: what surrounds a page asks nothing of other machines; a page shows its drawing, its links and no code."""
import os
import re

import pytest
from browsing import BEYOND, needs_browser, served

from kit import kiosk

voila = pytest.importorskip("voila", reason="voila is not installed: pip install -e '.[kiosk]'")


def test_what_surrounds_a_page_fetches_nothing(tmp_path):
    folder = kiosk.template(tmp_path)
    page = (folder / "voila" / "templates" / kiosk.TEMPLATE / "index.html.j2").read_text(encoding="utf-8")
    assert not re.search(r"<(?:link|script)[^>]+https?://", page) and "block" in page


def test_pages_are_served_to_this_machine_alone(tmp_path):
    assert "--Voila.ip=127.0.0.1" in kiosk.command(kiosk.notebooks(), 8123)
    with pytest.raises(FileNotFoundError, match="--notebooks FOLDER"):
        kiosk.notebooks(tmp_path)


@pytest.mark.browser
@pytest.mark.long
@needs_browser[2]
def test_a_page_without_code_and_without_the_internet(browser, tmp_path):
    env = os.environ | {name: str(tmp_path / name) for name in ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "IPYTHONDIR")}
    env["JUPYTER_PATH"] = str(kiosk.template(tmp_path / "templates"))
    with served(lambda port: kiosk.command(kiosk.notebooks(), port), env, tmp_path / "log") as base:
        page, outside = browser.new_context(viewport={"width": 1280, "height": 720}).new_page(), []
        page.on("request", lambda r: None if re.match(r"(data:|blob:|(http|ws)://127\.0\.0\.1)", r.url) else outside.append(r.url))
        page.goto(f"{base}/voila/render/{kiosk.START}", timeout=240_000)
        page.wait_for_selector(".kit-panel img", timeout=240_000)
        assert page.locator(".jp-InputArea-editor").count() == 0 and outside == []
        assert page.locator(".kit-panel .kit-picture figure").count() == 2   # the drawing and its figure
        assert page.locator("a[href='01_the_claim.ipynb']").count()
        page.context.close()


@pytest.mark.browser
@pytest.mark.long
@needs_browser[2]
@pytest.mark.parametrize("name", ["01_the_claim", "07_bench_log", "12_session_leader"])   # panels, a form, wide tables
def test_a_page_on_a_tablet_and_in_letters_twice_as_large(browser, tmp_path, name):
    env = os.environ | {each: str(tmp_path / each) for each in ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "IPYTHONDIR")}
    env["JUPYTER_PATH"] = str(kiosk.template(tmp_path / "templates"))
    with served(lambda port: kiosk.command(kiosk.notebooks(), port), env, tmp_path / "log") as base:
        page = browser.new_context(viewport={"width": 820, "height": 1180}, has_touch=True).new_page()
        page.goto(f"{base}/voila/render/{name}.ipynb", timeout=240_000)
        page.get_by_role("heading", name="So what, and what not" if name < "1" else "Afterwards").wait_for(timeout=240_000)   # its last heading
        for width, height in ((820, 1180), (640, 360)):   # 1280 x 720, twice as large
            page.set_viewport_size({"width": width, "height": height})
            page.wait_for_timeout(1000)
            assert page.evaluate("document.documentElement.scrollWidth") == width and page.evaluate(BEYOND) == []
        tree = page.locator("body").aria_snapshot()
        assert re.findall(r"^ *- (?:button|textbox|slider|listbox|combobox|checkbox|spinbutton|link|img)(?! .).*", tree, re.M) == []   # without a name
        levels = [1, *map(int, re.findall(r"- '?heading .*\[level=(\d)\]", tree))]
        assert len(levels) > 4 and all(level <= before + 1 for before, level in zip(levels, levels[1:]))
        assert min([box["height"] for handle in page.locator(".noUi-handle, .kit-panel input[type=checkbox]").all() if (box := handle.bounding_box())],
                   default=24) >= 24   # WCAG 2.2, 2.5.8
        assert page.evaluate("""() => [...document.querySelectorAll('.jp-Cell *')].filter(e => e.getClientRects().length && [...e.childNodes].some(
            n => n.nodeType == 3 && n.textContent.trim()) && parseFloat(getComputedStyle(e).fontSize) < 14).map(e => e.outerHTML.slice(0, 90))""") == []
        page.context.close()
