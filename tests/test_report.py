"""kit.report: every block in every renderer; what a reader of the page, of the PDF and of the table's text gets, read back."""

import base64
import zipfile
import csv
import io
import re
import shutil
import subprocess
import sys
from html.parser import HTMLParser

import numpy as np
import pandas as pd
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from matplotlib.figure import Figure
from pypdf import PdfReader

from browsing import CHROMIUM
from kit import citing, references, report, tables, tabular
from kit.report import Bullets, Formula, Heading, Note, Paragraph, Picture, References, Table, Upright
from kit.words import THIN

SIGNS = "µ × ≥ − · ² ≤ ± Ω °"
HOSTILE = """<script>alert(1)</script> <img src="http://example.invalid/x.png"> & "quoted" 'single' &lt;"""
A4 = (595.28, 841.89)


def figure(width_mm=140, height_mm=50):
    made = Figure(figsize=(width_mm / 25.4, height_mm / 25.4))
    made.add_axes((0.1, 0.2, 0.85, 0.75)).plot([1, 2, 3], [1, 4, 9])
    return made


def frame():
    return pd.DataFrame(
        {
            "step": ["bore, 5 mm", "lap | polish"],
            "margin": [4.0143, 0.8005],
            "trials": [16384, 3],
            "met": [True, False],
            "note": [SIGNS, None],
        }
    )


def every_block():
    return [
        Paragraph(f"Signs: {SIGNS}"),
        Heading("Verdict", 1),
        Paragraph(HOSTILE),
        Heading("Detail", 2),
        Note("Mind the swarf."),
        Bullets(("first item", "second item")),
        Table(frame(), "Margins of each step", "steps"),
        Picture(figure(), "Squares of small numbers", "a curve that steepens", "squares"),
        Heading("Deeper", 3),
        Heading("Limits", 1),
        Heading("Sources", 1),
        Paragraph("The end."),
    ]


# Numbers as text


@pytest.mark.parametrize(
    ("values", "text"),
    [
        ([0.0846321, 61.396, 150.2], ["0.0846", "61.4", "150"]),
        ([1, 16384], ["1", f"16{THIN}384"]),
        ([16384.0, None], [f"16{THIN}384", ""]),
        ([1.5, 16384.0], ["1.50", f"16{THIN}400"]),
        ([True, False, None], ["yes", "no", ""]),
        (["a", np.nan, pd.NA], ["a", "", ""]),
        ([np.inf, -np.inf, 2.0], ["∞", "−∞", "2.00"]),
        ([2**70, 1], [f"{2**70:,}".replace(",", THIN), "1"]),
        (["5.0", "5"], ["5.0", "5"]),
        ([1, 2.5, "about 5"], ["1", "2.50", "about 5"]),
        ([pd.NaT, pd.NaT], ["", ""]),
        (["two\nlines", "a\x00b\ud800"], ["two lines", "a b?"]),
    ],
)
def test_values_are_shown_as_a_reader_expects(values, text):
    assert tabular.shown(pd.DataFrame({"x": pd.Series(values, dtype=object)}))["x"].tolist() == text


def test_a_table_for_a_terminal_is_lined_up_and_broken_between_words():
    frame = pd.DataFrame({"what": ["alone", "pair"], "change": ["pulley: 12 mm in place of 8 mm", ""], "chance": ["0.7", ">0.99"]})
    assert tabular.lined_up(frame, widest={"change": 16}).splitlines() == [
        "what   change            chance", "----   ------            ------", "alone  pulley: 12 mm in  0.7",
        "       place of 8 mm", "pair                     >0.99"]
    assert tabular.lined_up(frame[:0]).splitlines() == ["what  change  chance", "----  ------  ------"]


def test_columns_of_any_kind_are_shown():
    made = pd.DataFrame(
        {
            "whole": np.array([1, 2], np.int16),
            "real": np.array([0.12345, 2], np.float32),
            "met": [True, False],
            "gap": pd.array([1, None], dtype="Int64"),
            "kind": pd.Categorical(["a", "b"]),
        }
    )
    assert tabular.shown(made).to_numpy().tolist() == [["1", "0.123", "yes", "1", "a"], ["2", "2.00", "no", "", "b"]]


def test_an_index_of_words_is_shown_and_one_that_counts_is_not():
    made = frame()
    assert list(tabular.shown(made)) == list(tabular.shown(made[made["met"]])) == list(made)
    assert list(tabular.shown(made.set_index("step"))) == list(made)
    assert tabular.shown(pd.DataFrame({"x": [1]}, index=["row"])).to_numpy().tolist() == [["row", "1"]]
    assert list(tabular.shown(pd.DataFrame({"x": [1]}, index=pd.Index([7], name="trial")))) == ["trial", "x"]
    assert list(tabular.shown(made.set_index(["step", "trials"])))[:2] == ["step", "trials"]


def test_columns_of_one_name_and_of_two_levels_are_shown():
    twins = pd.DataFrame([[1, "b"]], columns=["x", "x"], index=pd.Index(["c"], name="x"))
    assert tabular.shown(twins).to_numpy().tolist() == [["c", "1", "b"]]
    assert list(
        tabular.shown(pd.DataFrame([[1, 2]], columns=pd.MultiIndex.from_tuples([("margin", "5 %"), ("n", "")])))
    ) == ["margin, 5 %", "n"]


# CSV


def test_csv_keeps_numbers_in_full_and_reads_back():
    text = tabular.as_csv(frame())
    assert text.splitlines()[0] == "step,margin,trials,met,note" and "4.0143" in text and "\r" not in text
    pd.testing.assert_frame_equal(pd.read_csv(io.StringIO(text)), frame(), check_dtype=False)


@given(st.lists(st.tuples(st.text(), st.floats(allow_nan=False)), min_size=1))
@example([("a\rb", 1.0), ('"', 0.1), (",", 1e-300)])
def test_any_text_and_number_survive_csv(rows):
    text = tabular.as_csv(pd.DataFrame(rows, columns=["word", "number"]))
    assert "\r" not in text and text.endswith("\n")
    back = list(csv.reader(io.StringIO(text, newline="")))
    assert len(back) == len(rows) + 1 and all(len(row) == 2 for row in back)
    assert [float(number) for _, number in back[1:]] == [number for _, number in rows]


def test_csv_ends_lines_in_one_way():
    assert tabular.as_csv(pd.DataFrame({"x\r\ny": ["a\r\nb", "c\rd"]})) == 'x y\n"a\nb"\n"c\nd"\n'


# Every format, read back by other hands

BIB = tables.REFERENCE / "sources.bib"


@pytest.fixture(scope="module")
def cites():
    keys = ["bourne_1856", "callister_2008"]
    return citing.citing({said: key for key, said in references.citations(keys, BIB).items()}, BIB)


def whole_document():
    many = pd.DataFrame({"trial": [f"trial-{i:03d}" for i in range(200)], "why": ["because of this and that"] * 200})
    return [*every_block(), Paragraph("As Bourne 1856 says, and Callister and Rethwisch 2008."), Table(many, "Every trial", "trials"),
            Formula(r"M = \frac{C}{D}", "margin is capacity over demand"), Heading("References"), References()]


@pytest.fixture(scope="module")
def written(cites):
    return {end: report.written(end, whole_document(), "Näher & <weiter>", "de", cites) for end in report.FORMATS}


@pytest.fixture(scope="module")
def read(written):
    return PdfReader(io.BytesIO(written["pdf"]))


def words(reader):
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


def elements(reader):
    """(kind, attributes) of every element of the PDF's structure, in reading order."""
    def walk(node):
        node = node.get_object()
        if isinstance(node, list):
            for child in node:
                yield from walk(child)
        elif isinstance(node, dict):
            if "/S" in node:
                yield str(node["/S"]), node
            if "/K" in node:
                yield from walk(node["/K"])
    return list(walk(reader.trailer["/Root"]["/StructTreeRoot"]["/K"]))


def test_the_pdf_says_what_it_is_and_that_a_screen_reader_can_read_it(read):
    root = read.trailer["/Root"]
    assert root["/Lang"] == "de" and root["/MarkInfo"]["/Marked"] and root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert read.metadata.title == "Näher & <weiter>"
    assert b"<pdfuaid:part>1</pdfuaid:part>" in root["/Metadata"].get_data()   # ISO 14289-1, from memory
    assert all((float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(A4, abs=0.1) for page in read.pages)


def test_the_pdf_has_headings_tables_and_pictures_with_words_in_reading_order(read):
    found = elements(read)
    kinds = [kind for kind, _ in found]
    assert [kind for kind in kinds if re.fullmatch(r"/H\d", kind)] == ["/H1", "/H2", "/H3", "/H1", "/H1", "/H1"]
    alts = [str(node["/Alt"]) for _, node in found if "/Alt" in node]
    assert "a curve that steepens" in alts and "margin is capacity over demand" in alts
    heads = [node for kind, node in found if kind == "/TH"]
    assert len(heads) >= 5 + 2 and all("/Column" in str(node["/A"]) for node in heads)


def test_the_pdf_loses_no_row_and_no_sign(read):
    text = words(read)
    assert [f"trial-{i:03d}" in text for i in range(200)] == [True] * 200
    for wanted in (f"Signs: {SIGNS}", "<script>alert(1)</script>", "&lt;", "Mind the swarf.", "first item", "lap | polish", "4.01", "Squares of small numbers"):
        assert wanted in text, wanted
    pages = [page.extract_text() for page in read.pages]
    assert all("why" in page for page in pages if "trial-" in page)   # the header on every page


def test_the_pdfs_fonts_are_inside_and_its_bookmarks_are_the_headings(read):
    for page in read.pages:
        for font in page["/Resources"].get("/Font", {}).values():
            inner = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"]
            assert {"/FontFile2", "/FontFile3"} & set(inner)

    def titles(entries):
        return [titles(e) if isinstance(e, list) else e.title for e in entries]

    assert titles(read.outline) == ["Verdict", ["Detail", ["Deeper"]], "Limits", "Sources", "References"]


def test_wide_tables_have_their_pages_turned(cites):
    wide = PdfReader(io.BytesIO(report.pdf([Table(frame(), "Wide", "w")], "t", turned=True)))
    assert float(wide.pages[0].mediabox.width) == pytest.approx(A4[1], abs=0.1)
    import docx
    first, last = docx.Document(io.BytesIO(report.docx([Table(frame(), "Wide", "w"), Upright(), Heading("Figures")], "t"))).sections
    assert (first.page_width.mm, first.page_height.mm) == pytest.approx((297, 210), abs=0.1)
    assert (last.page_width.mm, last.page_height.mm) == pytest.approx((210, 297), abs=0.1)
    with zipfile.ZipFile(io.BytesIO(report.odt([Table(frame(), "Wide", "w"), Upright(), Heading("Figures")], "t"))) as packed:
        styles, text = packed.read("styles.xml").decode(), packed.read("content.xml").decode()
    sizes = dict(re.findall(r'(?s)<style:page-layout style:name="(\w+)">.*?print-orientation="(\w+)"', styles))
    pages = dict(re.findall(r'<style:master-page style:name="(\w+)"\s+style:page-layout-name="(\w+)"', styles))
    assert sizes[pages["Standard"]] == "landscape" and sizes[pages["Upright"]] == "portrait"
    assert text.index("Wide") < text.index('text:style-name="Upright"') < text.index("Figures")
    tex = report.latex([Table(frame(), "Wide", "w"), Upright(), Heading("Figures")], "t")
    assert tex.index(r"\begin{landscape}") < tex.index(r"\maketitle" + "\n") < tex.index(r"\end{landscape}") < tex.index("{Figures}")
    assert "landscape" not in report.latex([Table(frame(), "Wide", "w")], "t").split(r"\begin{document}")[1]


@pytest.mark.long
@pytest.mark.parametrize("engine", ("pdflatex", "lualatex"))
def test_latex_is_set_by_latex(engine, tmp_path, cites):
    """By a TeX of its own, where there is one: nothing undefined, no sign that its fonts lack, wide pages on their side."""
    if not shutil.which(engine):
        pytest.skip(f"no {engine} on this machine")
    blocks = [Table(frame(), "Wide", "w"), Upright(), *whole_document()]
    (tmp_path / "report.tex").write_text(report.latex(blocks, "Näher & <weiter>", "en", cites), encoding="utf-8")
    for each in blocks:
        if isinstance(each, Picture):
            (tmp_path / f"{each.name}.pdf").write_bytes(each.bytes_of("pdf"))
    for _ in range(2):   # the second for the widths of long tables
        done = subprocess.run([engine, "-interaction=nonstopmode", "-halt-on-error", "report.tex"], cwd=tmp_path, capture_output=True, text=True, errors="replace")
        assert not done.returncode, done.stdout[-2000:]
    log = (tmp_path / "report.log").read_text(encoding="utf-8", errors="replace")
    assert "Missing character" not in log and "undefined" not in log
    read = PdfReader(tmp_path / "report.pdf")
    pages = [page.extract_text() for page in read.pages]
    turned = [page.rotation for page in read.pages]
    assert turned[0] == 90 and turned[-1] == 0 and "Wide" in pages[0]
    text = "\n".join(pages)
    assert "Mind the swarf." in text and text.count("trial-") == 200


def test_docx_by_another_hand(written):
    import docx
    made = docx.Document(io.BytesIO(written["docx"]))
    assert made.core_properties.title == "Näher & <weiter>"
    headings = [(p.style.name, p.text) for p in made.paragraphs if p.style.name.startswith("Heading")]
    assert headings == [("Heading 1", "Verdict"), ("Heading 2", "Detail"), ("Heading 3", "Deeper"), ("Heading 1", "Limits"), ("Heading 1", "Sources"), ("Heading 1", "References")]
    assert [len(table.rows) for table in made.tables] == [3, 201]
    assert made.tables[0].rows[2].cells[0].text == "lap | polish" and "tblHeader" in made.tables[1].rows[0]._tr.xml
    assert 'descr="a curve that steepens"' in made.element.xml and "<m:oMath" in made.element.xml
    text = "\n".join(p.text for p in made.paragraphs)
    assert HOSTILE in text and "Callister, William D." in text and "[publisher and year from memory]" in text


def test_docx_is_on_a4_with_small_print_in_tables_alone(written):
    import docx
    made = docx.Document(io.BytesIO(written["docx"]))
    page, [small, *_] = made.sections[0], [p for p in made.tables[0].rows[1].cells[0].paragraphs]
    assert (page.page_width.mm, page.page_height.mm) == (pytest.approx(210, abs=0.1), pytest.approx(297, abs=0.1))
    assert small.style.name == "Compact" and small.style.font.size.pt == 8
    assert not any(p.style.name == "Compact" for p in made.paragraphs)   # lists are in the size of the text


def test_docx_takes_over_the_styles_of_a_reference(written, tmp_path):
    import docx
    journal = docx.Document(io.BytesIO(written["docx"]))
    journal.styles["Heading 1"].font.name = "Courier New"
    journal.save(tmp_path / "journal.docx")
    made = docx.Document(io.BytesIO(report.docx([Heading("a")], "t", reference=tmp_path / "journal.docx")))
    assert made.styles["Heading 1"].font.name == "Courier New"


def test_latex_is_whole_and_points_to_its_pictures(written):
    text = written["tex"].decode()
    assert re.findall(r"\\section\{(\w+)\}", text) == ["Verdict", "Limits", "Sources", "References"]
    assert r"{squares.pdf}" in text and "alt={a curve that steepens}" in text and r"\frac{C}{D}" in text
    assert text.count("trial-") == 200 and r"\(\infty\)" not in text and r"\textless script" in text
    for opened in set(re.findall(r"\\begin\{(\w+)\}", text)):
        assert text.count(rf"\begin{{{opened}}}") == text.count(rf"\end{{{opened}}}"), opened
    made = report.latex([Paragraph("10⁻¹² ≥ ∞")], "t")
    assert r"10\textsuperscript{-12} \(\geq\) \(\infty\)" in made


def test_odt_and_jats_hold_the_same_words(written):
    from xml.etree import ElementTree
    with zipfile.ZipFile(io.BytesIO(written["odt"])) as packed:
        text = packed.read("content.xml").decode()
    jats = ElementTree.fromstring(re.sub(r"<!DOCTYPE[^>]*>", "", written["xml"].decode()))
    assert "Mind the swarf." in text and text.count("trial-") == 200
    assert [e.text for e in jats.iter("alt-text")] == ["a curve that steepens"] and len(list(jats.iter("tr"))) == 3 + 201


@pytest.mark.parametrize("end", report.FORMATS)
def test_seconds_later_the_bytes_are_the_same(end, written, cites):
    assert report.written(end, whole_document(), "Näher & <weiter>", "de", cites) == written[end]


def test_tables_by_themselves():
    found = [Table(frame(), "Margins, 5 %", "steps"), Table(frame(), "Again", "again")]
    for end, sign in (("md", "|"), ("tex", "longtable")):
        first, second = report.tables(end, found)
        assert "Margins, 5" in first and "Again" in second and "Again" not in first and sign in first and "cut here" not in first + second


def test_markdown_by_another_hand():
    mistune = pytest.importorskip("mistune", reason="mistune, which notebooks bring, is not installed")
    text = "a|b *c* _d_ [e] # 1. <f> `g` $h$ \\ ~i~ 5 %"
    page = mistune.create_markdown(escape=False, plugins=["table", "strikethrough"])(report.markdown([Paragraph(text), Bullets((text,)), Table(pd.DataFrame({"h": [text]}), "", "t")]))
    shown = re.sub(r"\s", " ", re.sub(r"<[^>]*>", " ", page)).replace("&lt;", "<").replace("&gt;", ">")
    assert " ".join(shown.split()).count(text.replace("\u00a0", " ")) == 3


# Citing

CSL = """<style xmlns="http://purl.org/net/xbiblio/csl" class="in-text" version="1.0"><info><title>t</title><id>t</id><updated>2026-01-01T00:00:00+00:00</updated></info>
<citation><layout prefix="[" suffix="]" delimiter=","><text variable="citation-number"/></layout></citation>
<bibliography><layout suffix="."><text variable="citation-number" suffix=": "/><names variable="author"/></layout></bibliography></style>"""


def test_another_style_and_the_citations_and_references_follow(cites, tmp_path):
    (tmp_path / "numbers.csl").write_text(CSL, encoding="utf-8")
    numbered = citing.citing(cites.labels, BIB, style=tmp_path / "numbers.csl")
    said = Page(report.html(whole_document(), "t", citing=numbered)), Page(report.html(whole_document(), "t", citing=cites))
    told = [" ".join(sum(page.words.values(), [])) for page in said]
    assert "[1]" in told[0] and "1: John Bourne" in told[0] and "[1]" not in told[1]
    assert "Bourne (1856)" in told[1] and "Bourne, John. 1856." in told[1] and "[year from memory]" in told[1] and "[year from memory]" in told[0]


@pytest.mark.parametrize("content, told", [(None, "there is no file"), ("@book{a}", "is no citation style"), ("<html/>", "is XML, but no citation style"),
                                           (CSL[:CSL.index("<citation>")].replace("</info>", '<link rel="independent-parent" href="http://example.invalid/apa"/></info>') + "</style>",
                                            "only names another (http://example.invalid/apa)")])
def test_a_style_that_is_none_is_told(content, told, tmp_path):
    if content:
        (tmp_path / "x.csl").write_text(content, encoding="utf-8")
    with pytest.raises(ValueError, match=re.escape(told)) as fault:
        citing.checked_style(tmp_path / "x.csl")
    assert "x.csl" in str(fault.value) and "author and date" in str(fault.value)


def test_a_reference_document_that_is_none_is_told(written, tmp_path):
    for name, content in (("letter.docx", b"a letter"), ("renamed.docx", written["odt"])):
        (tmp_path / name).write_bytes(content)
        with pytest.raises(ValueError, match=f"{name} is no DOCX document"):
            citing.checked_reference(tmp_path / name)
    (tmp_path / "good.docx").write_bytes(written["docx"])
    assert citing.checked_reference(tmp_path / "good.docx")


@pytest.mark.parametrize("entry, told", [("@book{lee_1990, title = {A} author = {Lee}}", "line 3"), ("@book{lee_1990, title = {A", "line 3"), ("@book{lee_1990, title = {A}}\n@book{lee_1990, title = {B}}", "line 4")])
def test_an_entry_that_an_engine_refuses_is_told_by_key_and_line(entry, told, tmp_path):
    (tmp_path / "sources.bib").write_text(f"\n\n{entry}\n", encoding="utf-8")
    with pytest.raises(tables.TableError) as fault:
        citing.citing({}, tmp_path / "sources.bib")
    assert told in str(fault.value) and "sources.bib" in str(fault.value)


def test_what_pandoc_alone_refuses_is_told_by_key_and_line(tmp_path, monkeypatch):
    (tmp_path / "sources.bib").write_text("\n@book{lee_1990,\n title = {A}}\n", encoding="utf-8")

    def refuses(_):
        raise citing.pandoc.Unprinted('Error at "source" (line 3, column 1): unexpected')

    monkeypatch.setattr(citing.pandoc, "works_of", refuses)
    with pytest.raises(tables.TableError, match=r"line 3: 'lee_1990' is not BibTeX that Pandoc reads"):
        citing.citing({}, tmp_path / "sources.bib")


def test_a_per_cent_sign_does_not_swallow_a_title(tmp_path):
    (tmp_path / "s.bib").write_text("@book{a, title = {Of 50 % tin, and more}, year = {1900}}", encoding="utf-8")
    made = citing.citing({"Of 1900": "a"}, tmp_path / "s.bib")
    assert "and more" in made.works["a"]["title"]


# HTML


class Page(HTMLParser):
    """The page as a tree walk: every tag with its attributes, what was open, and the text."""

    VOID = {"meta", "link", "img", "col", "br"}

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.open, self.tags, self.words, self.faults = [], [], {}, []
        self.feed(text)
        self.close()
        self.faults += self.open

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs), tuple(self.open)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append((tag, dict(attrs), tuple(self.open)))

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.faults.append(f"/{tag}")

    def handle_data(self, data):
        if data.strip():
            self.words.setdefault(self.open[-1] if self.open else "", []).append(data)

    def of(self, name):
        return [attrs for tag, attrs, _ in self.tags if tag == name]



@pytest.fixture(scope="module")
def page(written):
    return Page(written["html"].decode())


def test_the_page_has_one_title_landmarks_and_headings_that_go_down_by_one(page):
    assert not page.faults and page.words["h1"] == page.words["title"] == ["Näher & <weiter>"]
    assert page.of("html") == [{"lang": "de"}] and {"header", "main", "nav"} <= {tag for tag, _, _ in page.tags}
    assert [int(tag[1]) for tag, _, _ in page.tags if re.fullmatch(r"h\d", tag)] == [1, 2, 3, 4, 2, 2, 2]
    jumped = Page(report.html([Heading("a", 4), Heading("b", 1), Heading("c", 3), Heading("d", 9), Heading("e", 0)], "t"))
    assert [tag for tag, _, _ in jumped.tags if re.fullmatch(r"h\d", tag)] == ["h1", "h2", "h2", "h3", "h4", "h2"]


def test_links_of_the_contents_lead_to_headings(page):
    ids = [attrs["id"] for tag, attrs, _ in page.tags if re.fullmatch(r"h[2-4]", tag)]
    assert [attrs["href"][1:] for attrs in page.of("a") if attrs["href"].startswith("#section")] == ids
    assert not Page(report.html([Heading("a")] * 4, "t")).of("nav")


def test_a_table_says_what_its_cells_are():
    made = Page(report.html([Table(frame().set_index("step"), "Margins", "steps")], "t"))
    assert [attrs["scope"] for attrs in made.of("th")] == ["col"] * 5 + ["row"] * 2
    (box,) = (attrs for attrs in made.of("div") if "role" in attrs)
    assert (box["role"], box["tabindex"], box["aria-label"]) == ("region", "0", "Margins") and made.words["caption"] == ["Margins"]


def test_pictures_are_inside_with_words_for_those_who_cannot_see(page):
    (image,) = page.of("img")
    assert image["alt"] == "a curve that steepens" and image["style"] == "--width: 140.00mm"
    assert base64.b64decode(image["src"].removeprefix("data:image/svg+xml;base64,")).startswith(b"<?xml")


def test_nothing_is_fetched(page, written):
    assert all(attrs["src"].startswith("data:") for attrs in page.of("img")) and not page.of("script")
    (policy,) = (attrs["content"] for attrs in page.of("meta") if attrs.get("http-equiv") == "Content-Security-Policy")
    assert policy.startswith("default-src 'none';") and not re.search(r"url\(|@import", written["html"].decode())


@settings(max_examples=10)
@given(st.text())
@example('"><script>')
@example("' onload='x")
@example("\ud800\x00\u2028\u202e")
def test_any_text_is_text_in_page_and_print(text):
    """In title, heading, text, table and caption."""
    def blocks(text):
        return [Heading(text), Paragraph(text), Note(text), Bullets((text,)), Table(pd.DataFrame({text: [text]}), text, "n")]

    def shape(of):
        return [tag for tag, _, _ in of.tags if tag not in ("caption",)]

    made, plain = Page(report.html(blocks(text), f"t{text}")), Page(report.html(blocks("a"), "a"))
    assert not made.faults and set(shape(made)) <= set(shape(plain))
    assert len(PdfReader(io.BytesIO(report.pdf(blocks(text), f"t{text}"))).pages) >= 1


# What cannot be set is told


@pytest.mark.parametrize("render", [report.html, report.pdf, report.docx])
@pytest.mark.parametrize(
    ("blocks", "error", "told"),
    [
        ([Picture(figure(), "c", " ", "p")], ValueError, "'p' has no alt text; say in a sentence"),
        ([Formula("x", "")], ValueError, "formula 'x' has no alt text"),
        ([Picture(figure(), "c", "alt", "")], ValueError, "captioned 'c' has no name; give it one"),
        ([Table(frame(), "c", "x y"), Picture(figure(), "c", "alt", "x  y")], ValueError, "two blocks are called 'x  y'"),
        (["words"], TypeError, "'words' is no block; a document is made of Heading"),
    ],
)
def test_faults_are_told(render, blocks, error, told):
    with pytest.raises(error, match=re.escape(told)):
        render(blocks, title="t")


def test_typst_itself_refuses_a_picture_without_words():
    from kit import typeset
    with pytest.raises(ValueError, match="Typst does not set this document"):
        typeset.pdf(b'#set document(title: [t])\n#set text(lang: "en")\n#image("a.svg")', {"a.svg": report.Picture(figure(), "c", "a", "p").bytes_of("svg")})


@pytest.mark.parametrize("width, height, shown", [(140, 60, 140), (190, 95, 160), (100, 400, 50)])
def test_a_picture_is_made_smaller_only_where_the_page_has_no_room(width, height, shown):
    text = report.latex([Picture(figure(width, height), "c", "alt", "p")], "t")
    assert f"width={shown}mm" in text.replace(".00mm", "mm")


@pytest.mark.parametrize("rows", [pd.DataFrame(), pd.DataFrame(columns=["a", "b"]), pd.DataFrame({"a": ["word " * 3000], "b": [1]}), pd.DataFrame(np.ones((3, 30)))],
                         ids=["nothing", "no rows", "a cell of pages", "30 columns"])
def test_any_table_is_set(rows):
    blocks = [Paragraph("before"), Table(rows, "The caption", "t"), Paragraph("after")]
    text = words(PdfReader(io.BytesIO(report.pdf(blocks, "t"))))
    assert "before" in text and "The caption" in text and "after" in text and text.count("word") == rows.to_string().count("word")


def test_an_empty_document():
    assert "Only a title" in words(PdfReader(io.BytesIO(report.pdf([], "Only a title"))))
    assert report.markdown([], "Only a title").startswith("# Only a title\n")


def test_without_pandoc_that_is_told(monkeypatch):
    from kit import pandoc
    monkeypatch.setitem(sys.modules, "pypandoc", None)
    pandoc.program.cache_clear()
    with pytest.raises(ValueError, match="pip install pypandoc-binary"):
        pandoc.program()
    pandoc.program.cache_clear()




# In a browser

@pytest.fixture
def opened(browser, tmp_path):
    """The page of every block and a wide table, opened from a file at 1280 x 720; what it asked for and what it complained of."""
    wide = pd.DataFrame([[f"some words {i}" for i in range(14)]] * 3, columns=[f"column_{i}" for i in range(14)])
    path = tmp_path / "report.html"
    path.write_text(
        report.html([*every_block(), Heading("Sideways"), Table(wide, "Wide", "w"), Paragraph("after it")], "A report"),
        encoding="utf-8",
    )
    tab = browser.new_context(viewport={"width": 1280, "height": 720}).new_page()
    tab.asked, tab.told = [], []
    tab.on("request", lambda request: tab.asked.append(request.url))
    tab.on("console", lambda message: tab.told.append(message.text))
    tab.on("pageerror", lambda error: tab.told.append(str(error)))
    tab.goto(path.as_uri())
    yield tab
    tab.context.close()


in_browser = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.skipif(not CHROMIUM, reason="no Chromium on this machine: install one, or name it in CHROMIUM"),
]


class TestInABrowser:
    pytestmark = in_browser

    def test_nothing_is_asked_for_and_nothing_is_wrong(self, opened):
        assert [url for url in opened.asked if not url.startswith(("file:", "data:"))] == [] and not opened.told
        assert opened.title() == "A report"

    def test_the_policy_holds_even_against_the_page_itself(self, opened):
        opened.evaluate("document.body.append(Object.assign(new Image(), {src: 'http://127.0.0.1:9/x.png'}))")
        opened.wait_for_timeout(200)
        assert any("Content Security Policy" in told for told in opened.told)

    def test_it_fits_the_screen_and_wide_tables_scroll_in_their_own_box(self, opened):
        assert opened.evaluate("document.documentElement.scrollWidth") == 1280
        narrow, wide = opened.evaluate(
            "[...document.querySelectorAll('.table')].map(e => e.scrollWidth - e.clientWidth)"
        )
        assert narrow == 0 and wide > 0
        smallest = opened.evaluate(
            "Math.min(...[...document.querySelectorAll('main *')].map(e => parseFloat(getComputedStyle(e).fontSize)))"
        )
        assert smallest >= 12.9
        opened.set_viewport_size({"width": 400, "height": 700})
        assert opened.evaluate("document.documentElement.scrollWidth") == 400

    def test_pictures_are_drawn(self, opened):
        assert opened.evaluate("[...document.images].every(e => e.complete && e.naturalWidth > 0)")
        assert opened.locator("img").bounding_box()["width"] == pytest.approx(1.35 * 140 / 25.4 * 96, abs=1)

    def test_contents_and_tables_are_reached_by_keyboard(self, opened):
        reached = []
        for _ in range(8):
            opened.keyboard.press("Tab")
            reached.append(
                opened.evaluate("document.activeElement.getAttribute('href') || document.activeElement.className")
            )
        assert reached[0].startswith("#section-") and reached[-2:] == ["table", "table"]
        opened.locator("a", has_text="Sources").press("Enter")
        opened.wait_for_function(
            "document.querySelector('h2:nth-of-type(3)').getBoundingClientRect().top < innerHeight"
        )

    def test_it_prints_on_a4_and_loses_no_word(self, opened):
        printed = PdfReader(io.BytesIO(opened.pdf(prefer_css_page_size=True)))
        for sheet in printed.pages:
            assert (float(sheet.mediabox.width), float(sheet.mediabox.height)) == pytest.approx(A4, abs=1)
        assert "column_13" in words(printed).replace(" ", "") and "after it" in printed.pages[-1].extract_text()
