"""The pages without code: what surrounds a page asks nothing of other machines; a page shows its drawing, its links and no code."""
import os
import re

import pytest
from browsing import browser, needs_browser, served  # noqa: F401 (a fixture)

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
def test_a_page_without_code_and_without_the_internet(browser, tmp_path):  # noqa: F811
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
