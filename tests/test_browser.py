"""The notebooks as a person meets them: a real JupyterLab in a real browser, everything on this machine."""
import pytest
from browsing import NAMES, needs_browser, open_and_run

pytestmark = needs_browser


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


NAMED = [("slider", "wall of the sleeves / mm"), ("textbox", "wall of the sleeves / mm"), ("button", "Reset wall of the sleeves to 0.40 mm"),
         ("slider", "first bore / mm"), ("textbox", "first bore / mm"), ("slider", "pulley / mm"), ("listbox", "order of work"),
         ("listbox", "state of the edges"), ("button", "Save figure, caption and data"), ("button", "All to starting values"),
         ("checkbox", "inch, °F, lbf"), ("checkbox", "larger")]


def test_controls_have_names_and_work_by_keyboard_alone(lab, page):
    base, token, _ = lab
    page.set_viewport_size({"width": 1280, "height": 720})
    for session in page.request.get(f"{base}/api/sessions?token={token}").json():   # a kernel of its own, not one left by another tab
        page.request.delete(f"{base}/api/sessions/{session['id']}?token={token}")
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


@pytest.mark.xfail(reason="known fault: in a long run the number box may keep the millimetres when the label goes to inch; cause not found", strict=False)
def test_the_number_box_follows_the_switch_to_inch(lab, page):
    base, token, _ = lab
    open_and_run(page, base, token, "01_the_claim.ipynb")
    panel = page.locator(".kit-panel").first
    panel.scroll_into_view_if_needed()
    panel.get_by_role("button", name="All to starting values").click()
    box = panel.get_by_role("textbox", name="wall of the sleeves / mm")
    page.wait_for_function("box => box.value === '0.40'", arg=box.element_handle(), timeout=30_000)
    panel.get_by_role("checkbox", name="inch, °F, lbf").focus()
    page.keyboard.press("Space")
    box = panel.get_by_role("textbox", name="wall of the sleeves / in")
    box.wait_for()
    page.wait_for_function("box => box.value === '0.0157'", arg=box.element_handle(), timeout=30_000)   # 0.40 mm
    assert panel.get_by_role("slider", name="wall of the sleeves / in", exact=True).count() == 1
