"""The notebooks as pages to be read by who does not run them: each run on a study, its code folded, all in one folder.

    kit.pages.write("site", ["my-study"])          # or: python -m kit pages --out site my-study

Nothing is fetched and no script runs: a page shows what its cells gave, of a panel of controls its static figure.
"""
import os
import re
from html import escape
from pathlib import Path

from kit.base.files import drafting, slug
from kit.base.tables import nearest
from kit.publish import pandoc, terms
from kit.publish.report import TEMPLATES
from kit.study import study

NOTEBOOKS = Path(__file__).parents[2] / "notebooks"
FENCE = "`" * 30
PAGE_LINK = re.compile(r"\[([^\]]+)\]\((\w+)\.ipynb\)")
CELL_SECONDS = 600   # after which a cell that still runs is stopped


def write(out, folders=(), notebooks=NOTEBOOKS, only=None, told=print):
    """Run the notebooks on each study and write them as linked pages into a new folder; its path.

    out: folder, which must not be there yet. folders: of studies; the demo's where none is given. notebooks: folder of
    the notebooks. only: names of those wanted ('03_thin_wall'); all where None. told: called with what is being done.
    Raises FileExistsError rather than write over a folder, FileNotFoundError where there are no such notebooks,
    ValueError for a cell that fails or a picture without words, with notebook and cell.
    """
    out, found = Path(out), sorted(Path(notebooks).glob("[0-9]*.ipynb"))
    if not found:
        raise FileNotFoundError(f"{notebooks}: there are no notebooks; say where they are: --notebooks FOLDER (they "
                                "come with the kit's repository)")
    known = [path.stem for path in found]
    if unknown := [name for name in only or () if name not in known]:
        raise FileNotFoundError(f"{notebooks}: there is no notebook {unknown[0]!r}; {nearest(unknown[0], known)}")
    found = [path for path in found if only is None or path.stem in only]
    if out.exists():
        raise FileExistsError(f"{out} is there already; give a folder that is not")
    studies = [study.load(folder) for folder in folders or (study.DEMO,)]
    out.parent.mkdir(parents=True, exist_ok=True)
    with drafting(out.parent) as draft:
        site, listed = draft / "site", []
        for loaded in studies:
            place = _place(loaded, listed)
            (site / place).mkdir(parents=True)
            titles = {path.stem: _title(path) for path in found}
            for path in found:
                told(f"{loaded.title}: {path.stem}")
                page = _page(path, loaded, titles, draft)
                (site / place / f"{path.stem}.html").write_bytes(page)
            listed.append((loaded, place, titles))
        (site / "index.html").write_bytes(_index(listed))
        os.replace(site, out)
    return out


def _place(loaded, listed):
    """Name of a study's folder of pages, told apart from those that are there."""
    name, taken = slug(loaded.title), [place for _, place, _ in listed]
    return name if name not in taken else f"{name}-{len(taken) + 1}"


def _title(path):
    import nbformat
    first = nbformat.read(path, 4).cells[0].source.lstrip()
    return re.sub(r"[*`]", "", first.split("\n")[0].lstrip("# ")) or path.stem


def _page(path, loaded, titles, draft):
    """A notebook, run on a study, as the bytes of a page."""
    import nbformat
    from nbclient import NotebookClient
    from nbclient.exceptions import CellExecutionError
    notebook = nbformat.read(path, 4)
    notebook.cells.insert(0, nbformat.v4.new_code_cell(f"import os\nos.environ['KIT_STUDY'] = "
                                                       f"{str(loaded.folder.resolve())!r}"))
    try:
        NotebookClient(notebook, timeout=CELL_SECONDS, kernel_name="python3",
                       resources={"metadata": {"path": str(draft)}},
                       extra_arguments=["--log-level=ERROR"]).execute()   # the kernel's own warnings help no reader
    except CellExecutionError as fault:
        raise ValueError(f"{path.name}, on {loaded.folder}: a cell fails ({fault.ename}: {fault.evalue}); open the "
                         "notebook and run it there") from None
    parts, seen = [_links(path.stem, titles, loaded)], set()
    for number, cell in enumerate(notebook.cells[1:], 1):
        if cell.cell_type == "markdown":
            text = re.sub(r"\A\s*#[^\n]*", "", cell.source) if number == 1 else cell.source   # the title is the page's
            parts.append(_prose(text, path.stem, titles, seen))
        elif cell.cell_type == "code":
            parts += [_code(cell.source), *(_given(output, f"{path.name}, cell {number}") for output in cell.outputs)]
    parts.append(_links(path.stem, titles, loaded))
    return _set("\n\n".join(filter(None, parts)), titles[path.stem])


def _prose(text, here, titles, seen):
    """A cell's words; its links lead to the pages that there are, and a term to its entry, which is told under the
    pointer. seen: terms that the page has linked already."""
    if here == terms.PAGE:
        text = re.sub(r"^\*\*(.+?)\*\*", lambda term: f"[**{term[1]}**]{{#{slug(term[1])}}}", text, flags=re.M)
    elif terms.PAGE in titles:
        text = terms.linked(text, seen)
    place = "" if here == terms.PAGE else f"{terms.PAGE}.html"
    text = terms.LINK.sub(lambda link: _term(link[1], place) if terms.PAGE in titles else link[1], text)
    return PAGE_LINK.sub(lambda link: f"[{link[1]}]({link[2]}.html)" if link[2] in titles else link[1], text)


def _term(words, place):
    """A link from words to the entry of the term that they stand for."""
    term = terms.named(words)
    said = escape(terms.meanings()[term]).replace("\\", "")
    return f"[{words}]({place}#{slug(term)} \"{said}\")"


def _code(source):
    return _raw(f"<details><summary>Code</summary><pre><code>{escape(source)}</code></pre></details>")


def _given(output, where):
    """What a cell gave, as Markdown with HTML in it."""
    if output.output_type == "stream":
        return _raw(f"<pre class='told'>{escape(output.text)}</pre>") if output.name == "stdout" else ""
    data = output.get("data", {})
    if "application/vnd.jupyter.widget-view+json" in data:
        return _raw("<p class='told'>(Here the notebook has controls; their figure stands below.)</p>")
    if "text/html" in data:
        return _raw(f"<div class='table' role='region' tabindex='0' aria-label='output'>{data['text/html']}</div>")
    if "text/markdown" in data:
        return data["text/markdown"]
    if any(kind.startswith("image/") for kind in data):
        raise ValueError(f"{where}: shows a picture without words for those who cannot see it; show it by "
                         "widgets.still(figure, alt=...)")
    return _raw(f"<pre class='told'>{escape(data['text/plain'])}</pre>") if "text/plain" in data else ""


def _links(here, titles, loaded):
    """Links to the page before, to the list of all, and to the page after."""
    names = list(titles)
    at = names.index(here)
    links = [("before: ", names[at - 1])] * (at > 0) + [("next: ", name) for name in names[at + 1:at + 2]]
    said = " · ".join(f"<a href='{escape(name)}.html'>{said}{escape(titles[name])}</a>" for said, name in links)
    study_ = f"{escape(loaded.title)}{' (invented)' if loaded.invented else ''}"
    return _raw(f"<nav aria-label='Pages'><p>{study_} · <a href='../index.html'>all pages</a> {said}</p></nav>")


def _index(listed):
    parts = []
    for loaded, place, titles in listed:
        invented = " This study is invented." if loaded.invented else ""
        links = "".join(f"<li><a href='{escape(place)}/{escape(name)}.html'>{escape(title)}</a></li>"
                        for name, title in titles.items())
        parts.append(_raw(f"<h2>{escape(loaded.title)}</h2><p>{escape(' '.join(loaded.claim.split()))}{invented}</p>"
                          f"<ul>{links}</ul>"))
    return _set("\n\n".join(parts), "Pages")


def _raw(html):
    return f"{FENCE}{{=html}}\n{html}\n{FENCE}"


def _set(text, title):
    """A page of a Markdown text, as bytes."""
    return pandoc.run(text, "-f", "markdown-citations+lists_without_preceding_blankline", "-t", "html", "--mathml",
                      "--standalone", "--wrap=none", "--template", str(TEMPLATES / "report.html"), "-M",
                      f"title={title}", "-M", "lang=en", strict=False)
