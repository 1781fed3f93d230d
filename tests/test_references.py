"""kit.references: BibTeX as authors write it, cited by author and date, listed in full, with nothing added."""
import re

import bibtexparser
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit import citing, evidence, references, report, tables
from kit.references import Name
from kit.tables import TableError

SOURCES = tables.REFERENCE / "sources.bib"
ALL = references.read(SOURCES)


@pytest.fixture
def bib(tmp_path):
    """Path of a BibTeX file that holds the text."""
    def written(text, name="sources.bib"):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return written


@pytest.fixture
def one(bib):
    """The title of the only work in a text."""
    return lambda text: next(iter(references.read(bib(text)).values())).fields["title"]


@pytest.fixture
def fault(bib):
    """The message about such a file, one line, without its folder."""
    def said(text):
        path = bib(text)
        with pytest.raises(TableError) as caught:
            references.read(path)
        message = str(caught.value)
        assert "\n" not in message and message.startswith(str(path))
        return message.removeprefix(f"{path.parent}/")

    return said


# --- the kit's own sources, against a second reader -----------------------------------------------------------------

OTHER = {entry.key: entry for entry in bibtexparser.parse_file(str(SOURCES)).entries}


def bare(text):
    return " ".join(re.sub("[{}]", "", text).split())


def test_the_same_entries_as_another_reader_finds():
    assert list(ALL) == list(OTHER) and len(ALL) > 20
    assert set(ALL) == tables.source_keys(SOURCES)


@pytest.mark.parametrize("key", OTHER)
def test_every_field_as_another_reader_finds_it(key):
    theirs = {field.key: bare(field.value) for field in OTHER[key].fields}
    authors = theirs.pop("author")
    assert ALL[key].kind == OTHER[key].entry_type
    assert {name: value.replace("–", "--") for name, value in ALL[key].fields.items()} == theirs
    assert " and ".join(", ".join(filter(None, (name.family, name.given))) for name in ALL[key].authors) == authors


def test_pandocs_references_leave_nothing_out():
    """Authors, years and the notes on what is from memory, of all works, as the kit's own reading has them."""
    listed = " ".join(report.markdown([report.References()], citing=citing.citing({f"x{key}": key for key in ALL}, SOURCES)).split())
    listed = re.sub(r"\\(.)", r"\1", listed)
    for key, work in ALL.items():
        assert work.fields.get("note", "") in listed and work.year in listed, key
        for name in work.authors:
            assert name.family in listed or name.family == "others", (key, name)


# --- citing ---------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("key, label", [
    ("bourne_1856", "Bourne 1856"), ("das_2004", "Das and Wang 2004"), ("avient_1960", "Avient et al. 1960"),
    ("uhl_2021", "Uhl et al. 2021"), ("lineham_nd", "Lineham n.d."), ("mcti_1959", "Metal Cutting Tool Institute 1959"),
    ("common-practice", "common practice, no published source")])
def test_labels(key, label):
    assert references.citations([key], SOURCES) == {key: label}


def test_two_works_of_one_author_and_year_get_letters_only_when_cited_together():
    pair = ["iso286_2_2010", "iso286_1_2010"]
    body = "International Organization for Standardization"
    assert references.citations(pair, SOURCES) == {"iso286_2_2010": f"{body} 2010b", "iso286_1_2010": f"{body} 2010a"}
    assert references.citations(pair[:1], SOURCES) == {"iso286_2_2010": f"{body} 2010"}


def test_works_with_the_same_label_get_letters_though_their_authors_differ(bib):
    path = bib("@book{x, author={Kong, A. and Lee, B. and Zu, C.}, title={One}, year=2007}\n"
               "@book{y, author={Kong, A. and Abe, D. and Zu, C.}, title={Two}, year=2007}\n"
               "@book{z, author={Kong, A.}, title={Three}}\n@book{w, author={Kong, A.}, title={Four}}")
    assert references.citations("xyzw", path) == {
        "x": "Kong et al. 2007b", "y": "Kong et al. 2007a", "z": "Kong n.d.-b", "w": "Kong n.d.-a"}


def test_letters_do_not_end_at_z(bib):
    path = bib("".join(f"@book{{k{i:02}, author={{Kay, A.}}, title={{{i:02}}}, year=1900}}\n" for i in range(30)))
    labels = list(references.citations(references.read(path), path).values())
    assert [labels[i] for i in (0, 25, 26, 29)] == ["Kay 1900a", "Kay 1900z", "Kay 1900aa", "Kay 1900ad"]
    assert len(set(labels)) == 30


def test_a_later_file_stands_before_an_earlier(bib):
    own = bib("@book{bourne_1856, author={Bourne, J.}, title={Another title}, year=1865}", "own.bib")
    assert references.citations(["bourne_1856"], SOURCES, own) == {"bourne_1856": "Bourne 1865"}
    assert references.citations(["bourne_1856"], own, SOURCES) == {"bourne_1856": "Bourne 1856"}


def test_a_key_in_no_file(bib):
    own = bib("@book{mine, title={T}}", "own.bib")
    with pytest.raises(TableError) as caught:
        references.citations(["mine", "bourne_1865"], SOURCES, own)
    message = str(caught.value)
    assert message.startswith("there is no source 'bourne_1865' in ")
    assert str(SOURCES) in message and str(own) in message
    assert "did you mean 'bourne_1856'" in message and "add the entry" in message and "common-practice" in message


def test_plain_sources_have_words_and_are_no_references():
    assert set(references.PLAIN) == set(evidence.PLAIN_SOURCES)
    assert list(references.citations(evidence.PLAIN_SOURCES)) == list(evidence.PLAIN_SOURCES)   # needs no file

# --- names ----------------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("author, name, short", [
    ("van der Berg, Jan", Name("van der Berg", "Jan"), "van der Berg"),
    ("Jan van der Berg", Name("van der Berg", "Jan"), "van der Berg"),
    ("Knuth, Jr, D. E.", Name("Knuth", "D. E.", "Jr"), "Knuth"),
    (r'M{\"u}ller, J{\'e}r{\^o}me', Name("Müller", "Jérôme"), "Müller"),
    (r"{\O}rsted, Hans", Name("Ørsted", "Hans"), "Ørsted"),
    (r"\'{E}cole, A.", Name("École", "A."), "École"),
    ("Łódź, Żaneta", Name("Łódź", "Żaneta"), "Łódź"),
    ("{Guild of Turners, and Sons}", Name("Guild of Turners, and Sons"), "Guild of Turners, and Sons"),
    ("Lee,\n      S.-J.", Name("Lee", "S.-J."), "Lee")])
def test_names(bib, author, name, short):
    path = bib(f"@book{{k, author = {{{author}}}, title = {{T}}, year = 1900}}")
    assert references.read(path)["k"].authors == (name,)
    assert references.citations(["k"], path) == {"k": f"{short} 1900"}


@pytest.mark.parametrize("authors, short", [
    ("A, B. and C, D.", "A and C"), ("A, B. and C, D. and E, F.", "A et al."), ("A, B. and others", "A et al."), ("Knuth, Jr, D. E. and C, D.", "Knuth and C")])
def test_several_authors(bib, authors, short):
    path = bib(f"@book{{k, author = {{{authors}}}, title = {{T}}, year = 1900}}")
    assert references.citations(["k"], path) == {"k": f"{short} 1900"}


@pytest.mark.parametrize("latex, text", [
    (r"{\OE}uvres \& {\`a} Troyes", "Œuvres & à Troyes"), (r"5\,mm of $\mu$m, 50\,\%", "5 mm of µm, 50 %"),
    (r"\emph{Fe} and {\em C} in \textit{steel}", "Fe and C in steel"), ("``Fits'' 1--2~mm", "“Fits” 1–2 mm"),
    (r"{ISO} {\v S}koda \c{C}a Stra{\ss}e", "ISO Škoda Ça Straße"), ("Ř 中 ok", "Ř 中 ok"),
    (r"a {nested {Brace}}", "a nested Brace"), (r"50 % of 5\% and & so on", "50 % of 5% and & so on")])
def test_latex_is_decoded(one, latex, text):
    assert one(f"@book{{k, author={{A, B.}}, title={{{latex}}}, year=1900}}") == text


def test_what_stands_between_and_around_entries(bib):
    path = bib('\ufeffWorks I read; {braces}, "quotes" and = signs.\n@string{prs = "Proceedings"}\n@comment{not this}\n'
               "@preamble{\"x\"}\n@article(k, author={A, B.}, Title=\"T\" # { and more}, journal=PRS, month=may, "
               "year=1900,)\nEnd.\n")
    assert references.read(path)["k"].fields == {
        "title": "T and more", "journal": "Proceedings", "month": "May", "year": "1900"}


def test_an_empty_file_and_one_of_words_only(bib):
    assert references.read(bib("")) == {} == references.read(bib("Nothing cited yet.\n"))


# --- faults ---------------------------------------------------------------------------------------------------------

GOOD = "Text.\n\n@book{good, title={T}}\n"


@pytest.mark.parametrize("text, start, remedy", [
    (GOOD + "@book{bad, title={open", "sources.bib, line 4: the entry that starts here is not BibTeX",
     "@kind{key, name = {value}, ...}"),
    (GOOD + "@book{bad,\n title={open},\n", "sources.bib, line 4: the entry that starts here", "@kind{key, name"),
    (GOOD + "\n@book{bad, title=word}", "sources.bib, line 5: the entry that starts here", "name = {value}"),
    ("ask me: me@example\n" + GOOD, "sources.bib, line 1: the entry that starts here", "does without the sign @"),
    (GOOD + "@book{good, title={U}}", "sources.bib, line 4: 'good' stands already in line 3", "another key"),
    (GOOD + "@book{bad, title={U}, Title={V}}", "sources.bib, line 4: 'bad' has 'title' twice", "keep one"),
    (GOOD + "@book{bad, author={a, b, c, d}}", "sources.bib, line 4: Too many commas in 'a, b, c, d'",
     "{{double braces}}"),
    (GOOD + "@incollection{bad, crossref={good}}", "sources.bib, line 4: 'bad' takes fields from another entry",
     "write its booktitle"),
    (GOOD + "@book{bad, title={50\\}}", "sources.bib, line 4: a backslash that begins no LaTeX command",
     "\\textbackslash{}"),
    (b"@book{k, title={M\xfcller}}", "sources.bib: not UTF-8 text (byte 17)", "save it as BibTeX in UTF-8")])
def test_broken_files(fault, text, start, remedy):
    said = fault(text)
    assert said.startswith(start) and remedy in said


SIGNS = [*"aé{}\\\"'`^~$%&#_@,=-()1 \n", "and ", "others", "\\emph{", "\\'e", "@book{", "title = {"]
LATEX = st.lists(st.sampled_from(SIGNS))


@given(author=LATEX, title=LATEX)
def test_whatever_is_written_is_read_or_told_in_one_line(tmp_path_factory, author, title):
    path = tmp_path_factory.getbasetemp() / "any.bib"
    path.write_text(f"@book{{k, author = {{{''.join(author)}}}, title = {{{''.join(title)}}}}}", encoding="utf-8")
    try:
        works = references.read(path)
        assert len(references.citations(works, path)) == len(works)
    except TableError as error:
        assert str(error).startswith(f"{path}, line ") and "\n" not in str(error)


def test_no_file(tmp_path):
    with pytest.raises(TableError, match="there is no such file; an empty one will do"):
        references.read(tmp_path / "sources.bib")
