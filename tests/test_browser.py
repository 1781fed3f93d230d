"""The notebooks as a person meets them: a real JupyterLab in a real browser, everything on this machine."""
import json

import pytest
from browsing import FAINT, NAMES, end_all_kernels, needs_browser, no_error, open_and_run

pytestmark = needs_browser
FIGURE = "img[data-part]"   # the last of a panel; its drawing stands before it


def first_control_moves_the_figure(page):
    panel = page.locator(".kit-panel").first
    panel.scroll_into_view_if_needed()
    picture = panel.locator(FIGURE).last
    before, words = picture.get_attribute("src"), panel.inner_text()
    control = panel.locator(".noUi-handle, select").first
    if control.evaluate("e => e.tagName") == "SELECT":
        control.select_option(index=1 if control.evaluate("e => e.selectedIndex") == 0 else 0)
    else:   # by keyboard, as somebody without a mouse would
        control.focus()
        page.keyboard.press("PageUp")
    page.wait_for_function("([p, old, words]) => [...p.querySelectorAll('img[data-part]')].pop().src !== old && p.innerText !== words",
                           arg=[panel.element_handle(), before, words])


def boxes(page):
    """{panel, place: [label, value, spoken value of the handle]} of every slider of the page."""
    return page.evaluate("""() => [...document.querySelectorAll('.kit-panel')].flatMap(p => [...p.querySelectorAll('.kit-slider')].map(s =>
        [s.querySelector('label').textContent, s.querySelector('input').value, s.querySelector('.noUi-handle').getAttribute('aria-valuetext')]))""")


def inch_and_back(page):
    """To inch by the keyboard and back by the pointer, twice: every value as it was, to the last digit, and no figure drawn anew."""
    switches = page.get_by_role("checkbox", name="inch, °F, lbf")
    if not switches.count():
        return
    switch = switches.first
    switch.scroll_into_view_if_needed()
    page.wait_for_timeout(500)
    before, pictures = boxes(page), page.eval_on_selector_all(f".kit-panel {FIGURE}", "found => found.map(i => i.src)")
    metric = [label for label, *_ in before if label.rpartition(" / ")[2] in ("mm", "µm", "°C", "N", "kPa")]
    assert metric
    for _ in range(2):
        switch.focus()
        page.keyboard.press("Space")
        page.wait_for_function("old => ![...document.querySelectorAll('.kit-slider label')].some(l => old.includes(l.textContent))", arg=metric)
        page.wait_for_timeout(500)
        inch = boxes(page)
        for (label, value, _), (was, held, _) in zip(inch, before):
            assert (label == was) == (value == held) or float(value or 0) == float(held or 0) == 0, (label, value)
        assert all(said.startswith(value) for _, value, said in inch), inch
        switch.click()
        page.wait_for_function("old => old.every(o => [...document.querySelectorAll('.kit-slider label')].some(l => l.textContent === o))", arg=metric)
        page.wait_for_timeout(500)
        assert boxes(page) == before
    assert page.eval_on_selector_all(f".kit-panel {FIGURE}", "found => found.map(i => i.src)") == pictures


def test_the_start_page_runs_moves_changes_to_inches_and_saves(lab, page):
    base, token, folder = lab
    open_and_run(page, base, token, "00_start.ipynb")
    first_control_moves_the_figure(page)
    inch_and_back(page)
    before = set((folder / "out").iterdir()) if (folder / "out").exists() else set()
    page.locator(".kit-panel").first.get_by_role("button", name="Save figure, caption and data").click()
    page.wait_for_selector("text=Saved:")
    saved = {p.name: p for p in set((folder / "out").iterdir()) - before}
    assert set(saved) == {f"harbour-dial-margins{of}.{end}" for of in ("", ".drawing") for end in ("pdf", "svg", "png", "txt", "csv")} | {"harbour-dial-margins.drawing.alt.txt"}
    assert "chance" in saved["harbour-dial-margins.txt"].read_text(encoding="utf-8").lower() and no_error(page)


@pytest.mark.long
@pytest.mark.parametrize("name", NAMES[1:])
def test_notebook_runs_and_its_first_control_moves_the_figure(lab, page, name):
    base, token, _ = lab
    open_and_run(page, base, token, name)
    assert no_error(page)
    first_control_moves_the_figure(page)
    inch_and_back(page)
    assert no_error(page)


@pytest.mark.long
@pytest.mark.parametrize("name", ["01_the_claim.ipynb", "07_bench_log.ipynb", "11_workshop_session.ipynb"])   # panel and card, form, board
def test_words_stand_out_in_the_dark_theme(lab, page, name):
    base, token, folder = lab
    theme = folder.parent / "settings" / "@jupyterlab" / "apputils-extension" / "themes.jupyterlab-settings"
    theme.write_text(json.dumps({"theme": "JupyterLab Dark"}), encoding="utf-8")
    try:
        open_and_run(page, base, token, name)
        assert page.evaluate("document.body.dataset.jpThemeLight") == "false"
        outer = page.locator(".jp-WindowedPanel-outer").first
        for place in range(0, outer.evaluate("e => e.scrollHeight"), 700):   # a cell is drawn when it comes into view
            outer.evaluate("(e, place) => e.scrollTop = place", place)
            page.wait_for_timeout(200)
            assert page.evaluate(FAINT, ".jp-Notebook .jp-Cell") == {}   # not the buttons that JupyterLab puts under them
    finally:
        theme.unlink()
    end_all_kernels(page, base, token)


NAMED = [("slider", "wall / mm"), ("textbox", "wall / mm"), ("button", "Reset wall to 0.40 mm"),
         ("slider", "first bore / mm"), ("textbox", "first bore / mm"), ("slider", "pulley / mm"), ("listbox", "order of work"),
         ("listbox", "state of the edges"), ("button", "Save figure, caption and data"), ("button", "Undo"), ("button", "All to starting values"),
         ("checkbox", "inch, °F, lbf"), ("checkbox", "larger")]


def test_controls_have_names_and_work_by_keyboard_alone(lab, page):
    base, token, _ = lab
    page.set_viewport_size({"width": 1280, "height": 720})
    end_all_kernels(page, base, token)   # one of its own, not one left by another tab
    open_and_run(page, base, token, "01_the_claim.ipynb")
    panel = page.locator(".kit-panel").first
    panel.scroll_into_view_if_needed()
    page.wait_for_selector(".kit-panel .noUi-handle[aria-labelledby]")
    for role, name in NAMED:
        assert panel.get_by_role(role, name=name, exact=True).count() == 1, (role, name)
    words = panel.locator(".kit-shown [aria-live=polite]")
    assert panel.locator(FIGURE).last.get_attribute("alt") == words.inner_text()
    # controls, drawing and figure within a screen and a half
    assert panel.bounding_box()["height"] <= 1.5 * page.locator(".jp-WindowedPanel-outer").first.bounding_box()["height"]

    def moves(key, text=None):
        """The picture changes, and no cell is left or cut."""
        cells = [page.locator(".jp-Cell").count(), page.locator(".jp-Cell.jp-mod-selected").first.evaluate("c => [...c.parentNode.children].indexOf(c)")]
        before = panel.locator(FIGURE).last.get_attribute("src")
        page.keyboard.type(text or "")
        page.keyboard.press(key)
        page.wait_for_function("([p, old]) => [...p.querySelectorAll('img[data-part]')].pop().src !== old", arg=[panel.element_handle(), before])
        assert cells == [page.locator(".jp-Cell").count(), page.locator(".jp-Cell.jp-mod-selected").first.evaluate("c => [...c.parentNode.children].indexOf(c)")]

    box = panel.get_by_role("textbox", name="wall / mm")
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


@pytest.mark.long   # that a rerun takes up what was kept is in test_widgets.py
def test_values_survive_a_new_kernel(lab, page):
    base, token, folder = lab
    open_and_run(page, base, token, "06_plunger.ipynb")
    panel = page.locator(".kit-panel").first
    panel.scroll_into_view_if_needed()
    box = panel.get_by_role("textbox", name="hold wanted / s")
    box.fill("7,5")
    box.press("Enter")
    page.wait_for_function("p => p.querySelector('.kit-shown').innerText.includes('7.5 s wanted')", arg=panel.element_handle())
    kept = folder / "out" / "plunger.values.json"
    for _ in range(100):   # it is written once the picture stands
        if kept.exists() and '"hold": "7.5 s"' in kept.read_text(encoding="utf-8"):
            break
        page.wait_for_timeout(100)
    assert '"hold": "7.5 s"' in kept.read_text(encoding="utf-8")
    end_all_kernels(page, base, token)
    page.wait_for_timeout(1000)
    open_and_run(page, base, token, "06_plunger.ipynb")
    panel = page.locator(".kit-panel").first
    panel.scroll_into_view_if_needed()
    page.wait_for_function("p => p.querySelector('.kit-shown').innerText.includes('7.5 s wanted')", arg=panel.element_handle())
    assert panel.get_by_role("textbox", name="hold wanted / s").input_value() == "7.5"
