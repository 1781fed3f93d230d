"""kit.pages: the notebooks run and written as linked pages that need no network and no script."""
import re
import subprocess
import sys

import nbformat
import pytest
from test_report import Page

from kit import pages, study, terms


def notebook(folder, name, *cells):
    book = nbformat.v4.new_notebook()
    book.cells = [nbformat.v4.new_code_cell(text[1:]) if text.startswith("!") else nbformat.v4.new_markdown_cell(text) for text in cells]
    folder.mkdir(exist_ok=True)
    nbformat.write(book, folder / f"{name}.ipynb")


def test_a_notebook_that_is_not_there_is_told(tmp_path):
    for only in (["nonsense"], ["03_thin_wall", "03_thin_wal"]):
        with pytest.raises(FileNotFoundError, match=f"no notebook {only[-1]!r}; (known|did you mean '03_thin_wall')"):
            pages.write(tmp_path / "site", only=only)
    with pytest.raises(FileNotFoundError, match="say where they are: --notebooks FOLDER"):
        pages.write(tmp_path / "site", notebooks=tmp_path)


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    folder = tmp_path_factory.mktemp("pages")
    notebook(folder / "books", "00_start", "# Can *it* be bored?\n\nOn to [walls](01_walls.ipynb); $M = C/D$. The clearance, and the clearance once more; "
             "`clearance` as code; find the D-bit.",
             "!from kit import study, widgets\nfrom matplotlib.figure import Figure\nloaded = study.load()\nprint('<of>', loaded.title)",
             "## A figure", "!figure = Figure(); figure.subplots().plot([1, 2])\nwidgets.still(figure, alt='a line that rises')")
    notebook(folder / "books", "01_walls", "# Walls", "!import pandas as pd\npd.DataFrame({'a': [1]})")
    notebook(folder / "books", "13_glossary", "# Words", *terms.entries().values())
    pages.write(folder / "site", notebooks=folder / "books", told=lambda _: None)
    return folder / "site"


def test_every_notebook_is_a_page_with_landmarks_and_one_title(site):
    [place] = [path for path in site.iterdir() if path.is_dir()]
    assert sorted(path.name for path in place.iterdir()) == ["00_start.html", "01_walls.html", "13_glossary.html"] and (site / "index.html").exists()
    page = Page((place / "00_start.html").read_text(encoding="utf-8"))
    assert page.words["h1"] == ["Can it be bored?"] and {"main", "header", "nav"} <= {tag for tag, _, _ in page.tags}
    assert page.of("html") == [{"lang": "en"}] and [tag for tag, _, _ in page.tags if tag in ("h1", "h2", "h3")] == ["h1", "h2"]


def test_code_is_folded_and_what_it_gave_is_shown(site):
    text = next(site.glob("*/00_start.html")).read_text(encoding="utf-8")
    assert re.search(r"<details><summary>Code</summary><pre><code>from kit import study", text) and "<details open" not in text
    assert f"&lt;of&gt; {study.load().title}" in text and "<math" in text
    [image] = [attrs for attrs in Page(text).of("img")]
    assert image["alt"] == "a line that rises" and image["src"].startswith("data:image/png")


def test_a_term_leads_to_its_entry_where_it_first_stands(site):
    text = next(site.glob("*/00_start.html")).read_text(encoding="utf-8")
    assert re.findall(r'<a href="13_glossary.html#([^"]+)"', text) == ["clearance", "d-bit"]   # once; not as code, and no everyday word
    assert re.search(r'The <a href="13_glossary.html#clearance"\s+title="[^"]*diameter', text)
    assert "13_glossary.html#" not in next(site.glob("*/13_glossary.html")).read_text(encoding="utf-8")


def test_every_link_leads_somewhere_and_nothing_is_fetched(site):
    for path in site.rglob("*.html"):
        page = Page(path.read_text(encoding="utf-8"))
        for link in (attrs["href"] for attrs in page.of("a")):
            name, _, place = link.partition("#")
            there = path.parent / name if name else path
            assert there.exists() and (not place or f"id='{place}'" in there.read_text(encoding="utf-8").replace('"', "'")), (path.name, link)
        assert not page.of("script") and all(attrs["src"].startswith("data:") for attrs in page.of("img"))
    assert 'href="01_walls.html"' in next(site.glob("*/00_start.html")).read_text(encoding="utf-8")


@pytest.mark.parametrize("code, told", [("!1/0", "a cell fails (ZeroDivisionError"),
                                        ("!from IPython.display import Image\nfrom kit import figures\nfrom matplotlib.figure import Figure\nImage(figures.png(Figure()))",
                                         "00_x.ipynb, cell 1: shows a picture without words")])
def test_what_cannot_be_shown_is_told_and_leaves_nothing(code, told, tmp_path):
    notebook(tmp_path / "books", "00_x", code)
    with pytest.raises(ValueError) as fault:
        pages.write(tmp_path / "site", notebooks=tmp_path / "books", told=lambda _: None)
    assert told in str(fault.value) and not (tmp_path / "site").exists() and [p.name for p in tmp_path.iterdir()] == ["books"]


def test_a_folder_that_is_there_is_left_as_it_is(site, tmp_path):
    with pytest.raises(FileExistsError, match="give a folder that is not"):
        pages.write(site)
    done = subprocess.run([sys.executable, "-m", "kit", "pages", "--out", str(tmp_path / "x"), "--only", "99_none"], capture_output=True, text=True, check=False)
    assert done.returncode == 2 and "there is no notebook '99_none'" in done.stderr and not (tmp_path / "x").exists()
