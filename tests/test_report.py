"""kit.report: every block in every renderer; what a reader of the page, of the PDF and of the table's text gets, read back."""

import base64
import csv
import html as entities
import io
import math
import os
import re
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
from pypdf.generic import ContentStream
from reportlab.pdfbase.pdfmetrics import stringWidth

from browsing import CHROMIUM
from kit import report, table_layout, tabular
from kit.report import Bullets, Heading, Note, Paragraph, Picture, Table
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


# Markdown

PRINTABLE = st.text(
    st.characters(exclude_categories=("C", "Z"), include_characters=" |\\`*_{}[]<>#~^&$%!-+.:"), max_size=30
)
CELLS = st.lists(st.tuples(st.text(), PRINTABLE, st.text(st.sampled_from("|\\ \n`"))), min_size=1, max_size=5)


def unmarked(text):
    return re.sub(r"\\(.)", r"\1", text)


def bars(line):
    """Where a row of a Markdown table is cut."""
    return [m.start() for m in re.finditer(r"\|", re.sub(r"\\.", "xx", line))]


@given(CELLS)
@example([("|", "a|b", "\\|"), ("\\", "\\\\", "`|`")])
def test_whatever_a_cell_holds_a_markdown_table_keeps_its_columns(rows):
    lines = tabular.as_markdown(pd.DataFrame(rows, columns=["a|b", "c", "\\"]), "caption").split("\n")
    table = lines[2:-1]
    assert len(table) == len(rows) + 2 and {len(bars(line)) for line in table} == {4}
    for line, row in zip(table[2:], rows):
        left, right = bars(line)[1:3]
        assert unmarked(line[left + 1 : right]).strip() == " ".join(row[1].split(" ")).strip()


@given(PRINTABLE.filter(lambda text: text.strip() and not re.search(r"://|=|!", text)))
@example("1. first")
@example("- item")
@example("a\\")
@example("&amp;")
@example("|---|")
def test_a_reader_of_markdown_sees_the_words_that_were_given(text):
    """By another hand's parser."""
    mistune = pytest.importorskip("mistune", reason="mistune, which notebooks bring, is not installed")
    read = mistune.create_markdown(
        escape=False, plugins=["table", "strikethrough", "task_lists", "def_list", "math", "superscript"]
    )
    words, spaced = " ".join(text.split()), re.compile(r"\s+")
    page = read(
        report.markdown(
            [Paragraph(text), Bullets((text,)), Note(text), Table(pd.DataFrame({"h": [text]}), text, "t")], text
        )
    )
    for tag in ("h1", "p", "li", "td"):
        found = re.search(rf"<{tag}[^>]*>(.*?)</{tag}>", page, re.S)
        assert found and spaced.sub(" ", entities.unescape(found[1])).strip() == words, page
    assert page.count("<blockquote>") == page.count("<table>") == page.count("<li>") == page.count("<em>") == 1


def test_the_document_as_markdown():
    text = report.markdown(every_block(), "A report")
    assert text.startswith("# A report\n\nSigns: µ × ≥") and text.endswith("\n") and "\r" not in text
    assert (
        "## Verdict\n" in text
        and "### Detail\n" in text
        and "> Mind the swarf." in text
        and "- first item\n- second item\n" in text
    )
    assert "![a curve that steepens](squares.svg)\n\n*Squares of small numbers*" in text
    assert r"| lap \| polish |" in text and f"16{THIN}384" in text and "<script>" not in text.replace(r"\<script\>", "")
    assert re.search(r"\*Margins of each step\*\n\n\| step +\| +margin \|", text)


def test_a_picture_of_a_name_with_spaces_is_still_linked():
    assert "](lamp%20oil%20%C3%A9.svg)" in report.markdown([Picture(figure(), "c", "alt", "lamp oil é")], "t")


# LaTeX

UNTEX = [
    (r"\textbackslash{}", "\\"),
    (r"\textasciitilde{}", "~"),
    (r"\textasciicircum{}", "^"),
    (r"\textless{}", "<"),
    (r"\textgreater{}", ">"),
    (r"\textbar{}", "|"),
    (r"\textasciigrave{}", "`"),
    ("{[}", "["),
    ("{]}", "]"),
    ("{*}", "*"),
    (r"\,", THIN),
    (r"$\infty$", "∞"),
    *((rf"\textsuperscript{{{digit}}}", raised) for digit, raised in zip("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")),
    ("-{}", "-"),
    *((f"\\{mark}", mark) for mark in "&%$#_{}"),
]
PIECE = re.compile("|".join(re.escape(code) for code, _ in UNTEX))


def untexed(text):
    return PIECE.sub(lambda found: dict(UNTEX)[found[0]], text)


@given(CELLS)
@example([("[1]", "* a -- b --- c", "\\")])
@example([("1", f"16{THIN}384 kg/m³, 10⁻¹² to ∞", "")])
def test_whatever_a_cell_holds_latex_takes_it_as_text(rows):
    text = tabular.as_latex(pd.DataFrame(rows, columns=["50 %", "b_1", "x^2"]), "100 % & more_", "tab:a b")
    assert r"\caption{100 \% \& more\_}" in text and r"\label{tab:a-b}" in text
    body = text.split("\\midrule\n")[1].split("\n\\bottomrule")[0].split("\n")
    assert len(body) == len(rows) and r"50 \%" in text and r"b\_1" in text and r"x\textasciicircum{}2" in text
    for line, row in zip(body, rows):
        assert line.endswith(r" \\")
        cells = re.split(r"(?<!\\) ?& ", line[:-3])
        assert len(cells) == 3
        assert not re.search(r"[\\&%$#_{}~^<>|`*\[\]]|--", PIECE.sub("", cells[1]))  # no special is left alone
        assert untexed(cells[1]).strip() == " ".join(row[1].split(" ")).strip()


def test_latex_of_a_short_and_of_a_long_table():
    short = tabular.as_latex(frame(), "Margins, 5 %", "tab:steps")
    assert (
        short.startswith("% needs the packages booktabs and longtable\n\\begin{table}[htbp]\n")
        and "\\begin{tabular}{lrrll}\n\\toprule" in short
    )
    assert "µ × ≥ − ·" in short and short.endswith("\\bottomrule\n\\end{tabular}\n\\end{table}\n")
    long = tabular.as_latex(pd.DataFrame({"n": range(60), "why": ["because " * 10] * 60}), "Long", "tab:long")
    assert (
        long.count("\\toprule") == long.count("\\midrule") == 2 and long.count("\\caption") == 1 and "\\endhead" in long
    )
    assert (
        long.count("because because") >= 60
        and "\\begin{longtable}{rp{0.60\\linewidth}}" in long
        and "\\begin{table}" not in long
    )
    assert long.index("\\endlastfoot") < long.index("because")


def test_the_same_frame_gives_the_same_text():
    for write in (tabular.as_csv, lambda f: tabular.as_markdown(f, "c"), lambda f: tabular.as_latex(f, "c", "l")):
        assert write(frame()) == write(frame())


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

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.faults.append(f"/{tag}")

    def handle_data(self, data):
        if data.strip():
            self.words.setdefault(self.open[-1] if self.open else "", []).append(data)

    def of(self, name):
        return [attrs for tag, attrs, _ in self.tags if tag == name]


@pytest.fixture(scope="module")
def page():
    return Page(report.html(every_block(), "A <b>report</b>", language="en"))


def test_tags_are_balanced_and_there_is_one_title(page):
    assert not page.faults
    assert len(page.of("h1")) == 1 and page.words["h1"] == page.words["title"] == ["A <b>report</b>"]
    assert page.of("html") == [{"lang": "en"}] and {"header", "main", "nav"} <= {tag for tag, _, _ in page.tags}


def test_headings_go_down_one_level_at_a_time(page):
    levels = [int(tag[1]) for tag, _, _ in page.tags if re.fullmatch(r"h\d", tag)]
    assert levels == [1, 2, 3, 4, 2, 2]
    jumped = Page(
        report.html([Heading("a", 4), Heading("b", 1), Heading("c", 3), Heading("d", 9), Heading("e", 0)], "t")
    )
    assert [tag for tag, _, _ in jumped.tags if re.fullmatch(r"h\d", tag)] == ["h1", "h2", "h2", "h3", "h4", "h2"]


def test_text_is_text(page):
    assert HOSTILE in page.words["p"] and not page.of("script")
    assert all(
        text in sum(page.words.values(), [])
        for text in ("Mind the swarf.", "first item", "second item", "The end.", f"Signs: {SIGNS}")
    )
    assert any(attrs.get("role") == "note" for attrs in page.of("p"))


@given(st.text())
@example('"><script>')
@example("' onload='x")
@example("]]>--><!-- {title}")
def test_no_text_opens_a_tag(text):
    """In title, heading, text, table, caption, name and language."""
    name = "n" + text
    made = Page(
        report.html(
            [
                Heading(text),
                Paragraph(text),
                Note(text),
                Bullets((text,)),
                Table(pd.DataFrame({text: [text]}), text, name),
            ],
            text,
            text,
        )
    )
    plain = Page(
        report.html(
            [Heading("a"), Paragraph("a"), Note("a"), Bullets(("a",)), Table(pd.DataFrame({"a": ["a"]}), "a", "na")],
            "a",
            "a",
        )
    )

    def shape(of):
        return [(tag, {key for key in attrs if key != "class"}) for tag, attrs, _ in of.tags]

    assert shape(made) == shape(plain) and not made.faults


def test_pictures_are_inside_with_words_for_those_who_cannot_see(page):
    (image,) = page.of("img")
    assert image["alt"] == "a curve that steepens" and image["style"] == "--width: 140.00mm"
    assert base64.b64decode(image["src"].removeprefix("data:image/svg+xml;base64,")).startswith(b"<?xml")
    assert page.words["figcaption"] == ["Squares of small numbers"]
    assert [where for tag, _, where in page.tags if tag == "img"] == [("html", "body", "main", "figure")]


def test_nothing_is_fetched(page):
    assert all(attrs["src"].startswith("data:") for attrs in page.of("img"))
    assert all(attrs["href"].startswith(("#", "data:")) for tag in ("a", "link") for attrs in page.of(tag))
    (policy,) = (attrs["content"] for attrs in page.of("meta") if attrs.get("http-equiv") == "Content-Security-Policy")
    assert policy.startswith("default-src 'none';") and "http" not in policy
    assert not re.search(r"url\(|@import|http", report.CSS)


def test_links_of_the_contents_lead_to_headings(page):
    ids = [attrs["id"] for _, attrs, _ in page.tags if "id" in attrs]
    assert len(ids) == len(set(ids)) and {"steps", "squares"} <= set(ids)
    assert [attrs["href"][1:] for attrs in page.of("a")] == [i for i in ids if i.startswith("section.")]
    assert page.words["a"] == ["Verdict", "Detail", "Deeper", "Limits", "Sources"]
    assert not Page(report.html([Heading("a")] * 4, "t")).of("nav") and Page(report.html([Heading("a")] * 5, "t")).of(
        "nav"
    )


def test_a_table_says_what_its_cells_are():
    made = Page(report.html([Table(frame().set_index("step"), "Margins", "steps")], "t"))
    assert [attrs["scope"] for attrs in made.of("th")] == ["col"] * 5 + ["row"] * 2
    assert [where[-1] for tag, _, where in made.tags if tag in ("thead", "tbody", "caption")] == ["table"] * 3
    assert len(made.of("td")) == 8 and made.words["td"] == ["4.01", f"16{THIN}384", "yes", SIGNS, "0.800", "3", "no"]
    (box,) = made.of("div")
    assert (box["role"], box["tabindex"], box["aria-labelledby"]) == ("region", "0", "steps") and made.of(
        "caption"
    ) == [{"id": "steps"}]


# What cannot be set is told


@pytest.mark.parametrize("render", [report.html, report.pdf, report.markdown])
@pytest.mark.parametrize(
    ("blocks", "error", "told"),
    [
        ([Picture(figure(), "c", " ", "p")], ValueError, "'p' has no alt text; say in a sentence"),
        ([Picture(figure(), "c", "alt", "")], ValueError, "captioned 'c' has no name; give it one"),
        (
            [Table(frame(), "c", "x y"), Picture(figure(), "c", "alt", "x  y")],
            ValueError,
            "two blocks are called 'x  y'",
        ),
        (["words"], TypeError, "'words' is no block; a document is made of Heading"),
    ],
)
def test_faults_are_told(render, blocks, error, told):
    with pytest.raises(error, match=re.escape(told)):
        render(blocks, title="t")


# PDF


def read(blocks, title="A report", **more):
    return PdfReader(io.BytesIO(report.pdf(blocks, title, **more)))


def words(reader):
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


def fonts_and_sizes(reader):
    """({name: descriptor}, sizes of letters) over all pages: what is listed, and what is used."""
    listed, sizes = {}, set()
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():
            listed[font.get_object()["/BaseFont"]] = font.get_object().get("/FontDescriptor")
        sizes |= {float(args[1]) for args, op in ContentStream(page["/Contents"], reader).operations if op == b"Tf"}
    return listed, sizes


def outside(reader):
    """Pieces of text that reach over the edge of the text's rectangle, sideways or down."""
    found = []
    for page in reader.pages:
        width, height = float(page.mediabox.width), float(page.mediabox.height)

        def look(text, cm, tm, font, size):
            for piece in filter(None, (line.strip() for line in text.split("\n"))):
                x, y = cm[4] + tm[4], cm[5] + tm[5]
                end = x + stringWidth(piece, font["/BaseFont"].partition("+")[2], size)
                if x < report.MARGIN - 1 or end > width - report.MARGIN + 1 or not 25 < y < height - report.MARGIN + 1:
                    found.append((piece, x, end, y))

        page.extract_text(visitor_text=look)
    return found


@pytest.fixture(scope="module")
def whole():
    return read(every_block(), "Näher & <weiter>", language="de")


def test_pages_are_a4_and_the_document_says_what_it_is(whole):
    for sheet in whole.pages:
        assert (float(sheet.mediabox.width), float(sheet.mediabox.height)) == pytest.approx(A4, abs=0.1)
    assert whole.metadata.title == "Näher & <weiter>" and whole.trailer["/Root"]["/Lang"] == "de"
    assert whole.trailer["/Root"]["/ViewerPreferences"]["/DisplayDocTitle"]
    assert not {"/CreationDate", "/ModDate", "/Author"} & set(whole.metadata)


def test_fonts_are_inside_and_letters_large_enough(whole):
    listed, sizes = fonts_and_sizes(whole)
    assert {name.partition("+")[2] for name in listed} == {report.FONT, report.BOLD, report.ITALIC}
    assert all("/FontFile2" in descriptor.get_object() for descriptor in listed.values())
    assert min(sizes) >= 6 and max(sizes) == 16


def test_words_and_signs_are_there(whole):
    text = words(whole)
    for wanted in (
        f"Signs: {SIGNS}",
        "Näher & <weiter>",
        "<script>alert(1)</script>",
        "&lt;",
        "Mind the swarf.",
        "first item",
        "lap | polish",
        "4.01",
        "16 384",
        "yes",
        "Margins of each step",
        "Squares of small numbers",
        "The end.",
        "•",
    ):
        assert wanted in text, wanted
    assert not outside(whole)


def test_no_line_ends_inside_a_number():
    """A narrow no-break space is a place to break for reportlab, so it is set as another."""
    table = Table(pd.DataFrame({"why": [f"16{THIN}384 " * 60]}), "caption", "table")
    pages = read([Paragraph(f"of 16{THIN}384 and " * 60), table]).pages
    lines = [line for page in pages for line in page.extract_text().splitlines()]
    assert sum(line.count("384") for line in lines) == 120
    assert not [line for line in lines if line.rstrip().endswith("16") or line.startswith("384")]


def test_bookmarks_are_the_headings(whole):
    def titles(entries):
        return [titles(e) if isinstance(e, list) else e.title for e in entries]

    assert titles(whole.outline) == ["Verdict", ["Detail", ["Deeper"]], "Limits", "Sources"]
    assert [whole.get_destination_page_number(whole.outline[i]) for i in (0, -1)] == [0, len(whole.pages) - 1]


def test_every_page_has_its_number():
    reader = read([Paragraph("word " * 4000)], title="A title " * 40)
    assert len(reader.pages) > 3
    for i, sheet in enumerate(reader.pages, 1):
        foot = sheet.extract_text().split("\n")[:2]
        assert foot[0].startswith("A title") and foot[0].endswith("…") and foot[1].strip() == str(i)
    assert not outside(reader)


def placed(reader):
    """(width and height on the page in points, pixels) of every picture."""
    found = []
    for sheet in reader.pages:
        matrices = [args for args, op in ContentStream(sheet["/Contents"], reader).operations if op == b"cm"]
        sizes = [(float(a), float(d)) for a, b, c, d, _, _ in matrices if (float(a), float(d)) != (1, 1)]
        found += zip(sizes, (image.get_object() for image in sheet["/Resources"].get("/XObject", {}).values()))
    return found


@pytest.mark.parametrize(
    ("width", "height", "shown"),
    [(90, 50, (90, 50)), (140, 60, (140, 60)), (170, 60, (170, 60)), (190, 95, (170, 85)), (300, 150, (170, 85))],
)
def test_pictures_stand_at_their_true_size_unless_wider_than_the_text(width, height, shown):
    (((wide, high), image),) = placed(read([Picture(figure(width, height), "caption", "alt", "p")]))
    assert (wide / 72 * 25.4, high / 72 * 25.4) == pytest.approx(shown, abs=0.05)
    assert image["/Width"] / (wide / 72) >= 300 and image["/ColorSpace"] == "/DeviceRGB" and "/SMask" not in image


def test_a_picture_higher_than_the_page_is_made_to_fit_with_its_caption():
    reader = read([Paragraph("word " * 300), Picture(figure(100, 400), "the caption below it", "alt", "p")])
    (((wide, high), _),) = placed(reader)
    assert high < A4[1] - 2 * report.MARGIN and wide / high == pytest.approx(100 / 400, rel=0.01)
    assert len(reader.pages) == 2 and "the caption below it" in reader.pages[1].extract_text()


def test_a_caption_stays_with_its_picture_and_a_heading_with_what_follows():
    for lines in range(20, 60, 3):
        blocks = [
            *(Paragraph(f"line {i}") for i in range(lines)),
            Heading("A heading"),
            Picture(figure(40, 80), "The caption", "alt", "p"),
            Heading("Another"),
            Table(pd.DataFrame({"x": range(6)}), "Its table", "t"),
        ]
        reader = read(blocks)
        pages = [sheet.extract_text() for sheet in reader.pages]
        (with_picture,) = (i for i, sheet in enumerate(reader.pages) if "/XObject" in sheet["/Resources"])
        assert "The caption" in pages[with_picture] and "A heading" in pages[with_picture]
        (with_table,) = (i for i, text in enumerate(pages) if "Its table" in text)
        assert "Another" in pages[with_table] and re.search(r"x\s+0\s+1", pages[with_table])


def test_the_words_for_a_picture_are_in_the_pdf():
    reader = read([Picture(figure(), "c", "a curve (steep) \\ µ ≥", "p")])
    operations = ContentStream(reader.pages[0]["/Contents"], reader).operations
    (marked,) = (args for args, op in operations if op == b"BDC")
    assert marked[0] == "/Figure" and marked[1]["/Alt"] == "a curve (steep) \\ µ ≥"
    assert [op for _, op in operations if op in (b"BDC", b"Do", b"EMC")] == [b"BDC", b"Do", b"EMC"]


def test_a_long_table_runs_over_pages_with_its_header_and_all_its_rows():
    rows = pd.DataFrame(
        {
            "trial": [f"trial-{i:03d}" for i in range(200)],
            "µm": np.linspace(1, 2, 200),
            "word": ["x" * 200, *["short"] * 199],
        }
    )
    reader = read([Table(rows, "Every trial", "trials")])
    pages = [sheet.extract_text() for sheet in reader.pages]
    assert len(pages) > 2 and all("trial\n" in text and "µm" in text for text in pages)
    assert [f"trial-{i:03d}" in "".join(pages) for i in range(200)] == [True] * 200
    assert "".join(pages).count("x") >= 200 and not outside(reader)


def test_a_table_too_wide_for_the_page_is_turned_and_its_heading_with_it():
    wide = pd.DataFrame([[f"some words {i}" for i in range(14)]] * 3, columns=[f"column_{i}" for i in range(14)])
    reader = read(
        [Heading("Upright"), Paragraph("before"), Heading("Sideways"), Table(wide, "Wide", "w"), Paragraph("after")]
    )
    shapes = [(float(s.mediabox.width), float(s.mediabox.height)) for s in reader.pages]
    assert shapes == [pytest.approx(A4, abs=0.1), pytest.approx(A4[::-1], abs=0.1), pytest.approx(A4, abs=0.1)]
    assert "before" in reader.pages[0].extract_text() and "after" in reader.pages[2].extract_text()
    assert "Sideways" in reader.pages[1].extract_text() and "Sideways" not in reader.pages[0].extract_text()
    assert not outside(reader)
    first = read([Table(wide, "Wide", "w")])
    assert len(first.pages) == 1 and float(first.pages[0].mediabox.width) == pytest.approx(A4[1], abs=0.1)


@pytest.mark.parametrize(
    "rows",
    [
        pd.DataFrame(),
        pd.DataFrame(columns=["a", "b"]),
        pd.DataFrame({"a": []}),
        pd.DataFrame(np.ones((3, 45))),
        pd.DataFrame([["x" * 70] * 50] * 2),
        pd.DataFrame({"a": ["word " * 5000], "b": [1]}),
        pd.DataFrame({"a": ["x" * 20000]}),
        pd.DataFrame({"note": ["a sentence of some length that goes on, " * 6] * 30, "x": range(30)}),
    ],
    ids=[
        "nothing",
        "no rows",
        "no rows, one column",
        "45 columns",
        "50 columns of long words",
        "a cell of pages",
        "a word of pages",
        "prose",
    ],
)
def test_any_table_stays_on_the_page(rows):
    reader = read([Paragraph("before"), Table(rows, "The caption", "t"), Paragraph("after")])
    text = "".join(words(reader).split())
    assert "before" in text and "Thecaption" in text and "after" in text and not outside(reader)
    assert min(fonts_and_sizes(reader)[1]) >= 6
    for value in {str(v).replace(" ", "") for v in rows.to_numpy().ravel() if isinstance(v, str)}:
        letters = re.sub(r"[^wordx]", "", value)
        assert sum(map(text.count, set(letters))) >= len(letters)
    made = Page(report.html([Table(rows, "The caption", "t")], "t"))
    assert not made.faults and "The caption" in made.words["span"]


def test_the_longest_of_everything_is_set():
    reader = read(
        [
            Heading("h" * 400),
            Note("n " * 4000),
            Bullets(("b " * 3000, "")),
            Picture(figure(), "cap " * 2500, "alt", "p"),
            Paragraph("w" * 3000),
            Paragraph(""),
            Heading(""),
        ],
        title="t" * 300,
    )
    assert words(reader).count("cap") == 2500 and not outside(reader)


def test_an_empty_document():
    reader = read([], title="Only a title")
    assert len(reader.pages) == 1 and "Only a title" in words(reader)
    assert Page(report.html([], "Only a title")).words["h1"] == ["Only a title"]
    assert report.markdown([], "Only a title") == "# Only a title\n"


@settings(max_examples=30)
@given(st.text(), st.text())
@example("<b>", "&amp; <para> ]]>")
@example("\ud800\x00", "\u2028\U0001f600\u202e")
def test_any_text_can_be_set(text, other):
    assert (
        len(
            read(
                [
                    Heading(text),
                    Paragraph(other),
                    Bullets((text, other)),
                    Table(pd.DataFrame({text: [other]}), text, "t"),
                ],
                other,
            ).pages
        )
        >= 1
    )


def test_two_runs_in_two_processes_give_the_same_bytes():
    code = (
        "import hashlib, sys; sys.path.insert(0, sys.argv[1]); import test_report as t; b = t.every_block();"
        "print([hashlib.sha256(x).hexdigest() for x in (t.report.pdf(b, 'A'), t.report.pdf(t.every_block(), 'A'),"
        "t.report.html(b, 'A').encode(), t.report.markdown(b, 'A').encode())])"
    )
    runs = {
        subprocess.run(
            [sys.executable, "-c", code, os.path.dirname(__file__)],
            env=os.environ | {"PYTHONHASHSEED": seed},
            check=True,
            capture_output=True,
            text=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(runs) == 1
    first, second, *_ = next(iter(runs)).strip("[]\n").split(", ")
    assert first == second  # and in one process, what was set before leaves no trace


def test_widths_give_what_is_there_to_those_who_need_it():
    cells = tabular.cells_of(pd.DataFrame({"a": ["short"], "b": ["a sentence of some length " * 5], "n": [1.5]}))
    report.fonts()
    narrow, wide, number = table_layout._widths(cells, 8, 400, easy=True)
    assert (
        narrow + wide + number <= 400
        and wide > 5 * narrow
        and math.isclose(number, stringWidth("1.50", report.FONT, 8) + 10.5)
    )
    assert table_layout._widths(cells, 8, 50, easy=True) is None
    twins = tabular.cells_of(pd.DataFrame({"a": ["words and more words " * 9], "b": ["words and other words " * 9]}))
    assert np.diff(table_layout._widths(twins, 8, 500, easy=True)) == pytest.approx(0, abs=1)


def test_a_column_of_sentences_gets_a_few_lines_and_not_a_ribbon():
    """Better a turned page than ten lines of two words."""
    note = "a note of some length that says what the number rests on, " * 4
    columns = {f"assumption_{i}": ["some_key.of_it"] for i in range(5)} | {"note": [note]}
    layout = table_layout.layout_of(pd.DataFrame(columns))
    assert layout.turned and stringWidth(note, report.FONT, layout.size) / layout.widths[-1] < 6


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
        assert reached[0].startswith("#section.") and reached[-2:] == ["table", "table turned"]
        opened.locator("a", has_text="Sources").press("Enter")
        opened.wait_for_function(
            "document.querySelector('h2:nth-of-type(3)').getBoundingClientRect().top < innerHeight"
        )

    def test_it_prints_on_a4_with_wide_tables_turned(self, opened):
        printed = PdfReader(io.BytesIO(opened.pdf(prefer_css_page_size=True)))
        shapes = [(float(sheet.mediabox.width), float(sheet.mediabox.height)) for sheet in printed.pages]
        assert {tuple(sorted(map(round, shape))) for shape in shapes} <= {
            (595, 842),
            (596, 842),
            (595, 841),
            (594, 841),
        }
        turned = [sheet.extract_text() for sheet, (width, height) in zip(printed.pages, shapes) if width > height]
        assert len(turned) == 1 and "Sideways" in turned[0] and "column_13" in turned[0].replace("\n", "")
        assert words(printed).count("Deeper") == 1 and "after it" in printed.pages[-1].extract_text()
