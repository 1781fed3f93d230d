"""The write-up, the workshop session, the leader's page and the glossary as a person meets them, in a real browser."""
import json
import os
import re
import shutil
import sys

import mistune
import nbformat
import pytest
from browsing import BEYOND, FAINT, NAMES, PATIENCE, end_all_kernels, needs_browser, no_error, open_and_run, pressed, served

from kit import blocks, pages, report, study, writeup

pytestmark = needs_browser


@pytest.mark.long   # what the desk does is in test_proofs.py
def test_a_write_up_is_looked_at_and_saved(lab, page):
    base, token, folder = lab
    open_and_run(page, base, token, "10_write_up.ipynb")
    desk = page.locator(".kit-proofs")
    desk.scroll_into_view_if_needed()
    picture = desk.locator("img")
    assert picture.get_attribute("alt")
    before = picture.get_attribute("src")
    desk.get_by_role("button", name="190 mm").click()
    page.wait_for_function("([p, old]) => p.querySelector('img').src !== old", arg=[desk.element_handle(), before])
    assert picture.get_attribute("style").startswith("width:190.0mm")
    for box in desk.get_by_role("checkbox").all()[1:-1]:   # one figure will do
        box.uncheck()
    desk.get_by_role("button", name="Save the bundle").click()
    page.wait_for_selector(".kit-proofs >> text=holds")
    bundle, = (folder / "out").glob("the-harbour-dial-*")
    assert (bundle / "report.pdf").exists() and list((bundle / "figures").glob("*-190mm.svg")) and no_error(page)


@pytest.mark.long   # what the forms do is in test_forms.py, and that the page serves them below
def test_a_group_predicts_and_finds_its_predictions_again(lab, page):
    base, token, folder = lab
    open_and_run(page, base, token, "11_workshop_session.ipynb")
    page.get_by_label("code of your group").first.fill("B7")
    pressed(page, "Begin", "Group B7:")
    for which, typed in (("lowest", "about 1"), ("best guess", "2,0"), ("highest", "30")):
        boxes = page.get_by_label(re.compile(which)).all()
        assert len(boxes) == 4
        for box in boxes:
            box.fill(typed)
    page.get_by_label(re.compile("^wall, highest")).fill("0.1 in")
    pressed(page, "Lock these predictions", "Locked, with the time")
    held, = (p for p in (folder / "out" / "session").iterdir() if not p.name.startswith("."))   # but for its lock
    assert held.name == "group-B7.csv" and held.read_text(encoding="utf-8").count("prediction") == 4
    end_all_kernels(page, base, token)
    open_and_run(page, base, token, "11_workshop_session.ipynb")
    page.get_by_label("code of your group").first.fill("B7")
    pressed(page, "Go on with this code", "Group B7:")
    box = page.get_by_label(re.compile("^wall, highest"))
    assert box.input_value() == "2.54" and box.is_disabled() and no_error(page)


@pytest.mark.long
def test_the_leaders_page_runs(lab, page):
    base, token, _ = lab
    open_and_run(page, base, token, "12_session_leader.ipynb")
    assert no_error(page) and page.get_by_text("face down until all predictions are locked").count()


@pytest.mark.long
def test_a_word_is_looked_up(lab, page):
    base, token, _ = lab
    open_and_run(page, base, token, "13_glossary.ipynb")
    page.get_by_label("find").fill("arbor")
    page.wait_for_selector("text=Round rod on which a bored piece is held")
    assert no_error(page)


@pytest.mark.long
def test_a_term_leads_to_its_entry_on_a_page_that_has_not_run(lab, page):
    base, token, _ = lab
    page.goto(f"{base}/lab/tree/00_start.ipynb?token={token}&reset")
    page.get_by_role("link", name="weakest evidence", exact=True).click(timeout=60_000)
    page.wait_for_function("""() => [...document.querySelectorAll('strong')].some(e => e.textContent == 'weakest evidence' && 0 < e.getBoundingClientRect().top
        && e.getBoundingClientRect().bottom < innerHeight)""", timeout=60_000)


def test_the_session_as_a_page_without_code(browser, lab, tmp_path):
    pytest.importorskip("voila", reason="voila is not installed: pip install -e '.[kiosk]'")
    _, _, folder = lab
    env = os.environ | {name: str(tmp_path / name) for name in ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "IPYTHONDIR")}
    with served(lambda port: [sys.executable, "-m", "voila", "11_workshop_session.ipynb", "--no-browser", "--Voila.ip=127.0.0.1", f"--port={port}"],
                env, tmp_path / "voila.log", cwd=folder) as base:
        tab = browser.new_context(viewport={"width": 1280, "height": 720}).new_page()
        tab.set_default_timeout(PATIENCE)
        outside = []
        tab.route(re.compile(r"^https?://(?!127\.0\.0\.1)"), lambda route: (outside.append(route.request.url), route.abort()))
        tab.goto(base)
        tab.get_by_label("code of your group").first.fill("K1")
        pressed(tab, "Begin", "Group K1:")
        assert tab.locator(".jp-InputArea-editor").count() == 0   # no code is shown
        assert all("font" in url for url in outside), outside   # an icon font, which it does without
        tab.context.close()


@pytest.mark.long
def test_a_page_for_reading_on_narrow_screens_and_in_the_dark(browser, tmp_path):
    site = pages.write(tmp_path / "site", only=["05_nested_sleeves"], told=lambda _: None)
    tab = browser.new_context(viewport={"width": 820, "height": 1180}, color_scheme="dark").new_page()
    tab.goto(next(site.glob("*/05*.html")).as_uri())
    for width in (820, 640):
        tab.set_viewport_size({"width": width, "height": 360})
        assert tab.evaluate("document.documentElement.scrollWidth") == width and tab.evaluate(BEYOND) == []
    assert tab.evaluate(FAINT, "body") == {}
    tab.context.close()


HOSTILE = ("</title><script>window.obeyed=1</script><img src=x onerror='window.obeyed=2'><svg onload='window.obeyed=3'></svg> "
           "[x](javascript:window.obeyed=4) =HYPERLINK(1) \u200f\u05d0 " + "w" * 300)


def hostile_study(folder):
    """The demo, with title, claim, names, notes and a source's title that a page would obey if it took them for its own."""
    shutil.copytree(study.DEMO, folder)
    for name, changes in {"study.toml": [('"The harbour dial"', json.dumps(HOSTILE)), ('claim = """', f'claim = """{HOSTILE}\n\n'),
                                         ('name = "hours"', f'name = {json.dumps(HOSTILE[:120])}'),
                                         ('name = "lamp-oil barrel"', f'name = {json.dumps(HOSTILE[8:120])}')],
                          "sources.bib": [("title = {Relief", "title = {" + HOSTILE)],
                          "bench_log.csv": [(",A,", ",=1+1<script>window.obeyed=5</script>,"), (",hours,", f",{HOSTILE[:120]},"),
                                                           (",lamp-oil barrel,", f",{HOSTILE[8:120]},")]}.items():
        text = (folder / name).read_text(encoding="utf-8")
        for old, new in changes:
            assert old in text
            text = text.replace(old, new)
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def obeyed(page):
    """What the page has taken from a name for a command of its own."""
    return page.evaluate("""() => [window.obeyed, ...[...document.querySelectorAll('*')].filter(e => [...e.attributes].some(
        a => /obeyed/.test(a.value) && (/^on/i.test(a.name) || /^javascript:/i.test(a.value)))).map(e => e.outerHTML)].filter(Boolean)""")


@pytest.mark.long   # what is shown of such names in words, cards and print is tested without a browser, and below
@pytest.mark.parametrize("name", [*NAMES, "10_write_up.ipynb"])
def test_hostile_names_are_shown_and_not_obeyed(name, lab, page, tmp_path):
    base, token, folder = lab
    mine = hostile_study(tmp_path / "mine")
    notebook = nbformat.read(folder / name, 4)
    notebook.cells.insert(0, nbformat.v4.new_code_cell(f"%env KIT_STUDY={mine}"))
    nbformat.write(notebook, folder / "hostile.ipynb")
    open_and_run(page, base, token, "hostile.ipynb")
    shown = 0
    for cell in page.locator(".jp-Notebook .jp-Cell").all():   # a cell is drawn when it comes into view
        cell.scroll_into_view_if_needed()
        shown += cell.inner_html().count("window.obeyed=")   # or in the words of a picture
        assert obeyed(page) == []
    assert shown and no_error(page)


def test_hostile_names_in_print_are_shown_and_not_obeyed(page, tmp_path):
    mine = hostile_study(tmp_path / "mine")
    worked = writeup.WorkedOut(study.load(mine), draws=2**6)
    said = writeup.verdict_text(worked)
    (tmp_path / "report.html").write_text(report.html([blocks.Heading(worked.study.title), blocks.Paragraph(worked.study.claim), blocks.Paragraph(said),
                                                       blocks.References()], worked.study.title, citing=worked.citing), encoding="utf-8")
    marked = mistune.create_markdown(escape=False)(report.markdown([blocks.References()], citing=worked.citing))   # by a reader that lets HTML through
    (tmp_path / "references.html").write_text(f"<!doctype html><meta charset='utf-8'><title>x</title>{marked}", encoding="utf-8")
    for name in ("report.html", "references.html"):
        tab = page.context.new_page()
        asked = []
        tab.on("request", lambda request: asked.append(request.url))
        tab.goto((tmp_path / name).as_uri())
        assert "<script>window.obeyed=1</script>" in tab.inner_text("body").lower()   # a style cases the titles of works
        assert obeyed(tab) == [] and [url for url in asked if not url.startswith("data:")] == [(tmp_path / name).as_uri()]
        if name == "report.html":
            assert tab.evaluate("document.documentElement.scrollWidth <= innerWidth")
