"""kit.together: one report on several studies of one object, what they share named, and nothing multiplied."""
import csv
import datetime
import functools
import io
import json
import re
import shutil
import zipfile
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader

import kit
from kit import __main__ as command
from kit import study, together, worlds, writeup

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")
DRAWS = 2**7


@pytest.fixture
def folders(tmp_path):
    """Two invented studies of one swivel: the demo's of two copper sleeves, and the same with a thicker wall."""
    found = [tmp_path / name for name in ("thin", "thick")]
    for folder in found:
        shutil.copytree(study.DEMO.parent / "copper-sleeves", folder)
    change(found[1] / "study.toml", r'(?m)^title = .*', 'title = "The swivel, of thicker tubes"')
    change(found[1] / "study.toml", r'wall = "0.5 mm"', 'wall = "0.7 mm"')
    return found


@pytest.fixture
def quick(monkeypatch):
    """A band of few worlds, and of each study's own write-up one file: what is in it is tested elsewhere."""
    monkeypatch.setattr(worlds, "band", functools.partial(worlds.band, worlds=8, inner=16))
    monkeypatch.setattr(writeup, "_fill", lambda folder, *rest: (folder / "README.txt").write_text("whole"))


def change(path, old, new):
    text, n = re.subn(old, new, path.read_text(encoding="utf-8"), count=1)
    assert n == 1
    path.write_text(text, encoding="utf-8")


def rows(path):
    return list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))


@pytest.mark.slow
def test_one_report_sets_the_studies_side_by_side(folders, tmp_path, quick):
    how = {"widths": (90,), "formats": ("svg",), "date": datetime.date(2026, 1, 2), "documents": ("html", "pdf", "docx", "tex")}
    loaded = together.loaded(folders)
    worked = [writeup.WorkedOut(each, DRAWS) for each in loaded]
    made = together.bundled(worked, tmp_path / "out", "Two swivels", **how)
    text = " ".join("\n".join(page.extract_text() for page in PdfReader(made / "report.pdf").pages).split())
    verdicts = [each.verdict for each in worked]
    printed = rows(made / "tables" / "verdicts.csv")
    for each, verdict, row in zip(loaded, verdicts, printed):
        assert row["study"] == each.title and float(row["chance"]) == verdict.chance and row["criterion"] == verdict.limiting
        for said in (each.title, " ".join(each.claim.split()), worlds.likelihood(verdict.chance, verdict.worlds), f"'{verdict.limiting}'"):
            assert said in text, said
    from test_said_one_way import faults
    assert faults(text, loaded[0]) == []
    shared, alike = rows(made / "tables" / "shared.csv"), []
    for row in shared:
        ranges = [tuple(each.register.loc[row["key"], ["median", "low_5", "high_95", "source"]]) for each in loaded]
        assert (row["alike"] == "yes") == (ranges[0] == ranges[1] and loaded[0].register.loc[row["key"], "each"] < 1), row["key"]
        alike += [row] if row["alike"] == "yes" else []
    assert {row["key"] for row in shared} == verdicts[0].asked & verdicts[1].asked
    low, high = max(0, sum(v.chance for v in verdicts) - 1), min(v.chance for v in verdicts)
    assert f"{len(alike)} assumptions are the same" in text and "not the product of their chances" in text
    assert f"between {kit.words.chance(low)} and {kit.words.chance(high)} (bounds of" in text
    assert text.count("Invented: no such part") == 1 and len(re.findall(r"\bReferences\b", text)) == 1
    described = json.loads((made / "datapackage.json").read_text(encoding="utf-8"))
    assert {r["path"]: [f["name"] for f in r["schema"]["fields"]] for r in described["resources"]} == {
        f"tables/{name}.csv": list(rows(made / "tables" / f"{name}.csv")[0]) for name in ("object", "shared", "verdicts")}
    own = [path.name for path in (made / "studies").iterdir()]
    assert len(own) == 2 and all(f"studies/{name}" in (made / "README.txt").read_text(encoding="utf-8") for name in own)
    assert set(re.findall(r"studies/([^/]+)/figures/figure-1-verdict-140mm", (made / "report.tex").read_text(encoding="utf-8"))) == set(own)
    other = together.bundled(worked, tmp_path / "again", "Two swivels", **how)
    assert other.name == made.name
    assert all((other / name).read_bytes() == (made / name).read_bytes() for name in ("report.pdf", "report.docx", "report.html", "tables/shared.csv"))


def test_the_combined_report_in_the_other_formats(folders, tmp_path, quick):
    """OpenDocument, JATS and LaTeX: both studies, the three tables and their captions, a picture of each, the works cited."""
    worked = [writeup.WorkedOut(each, DRAWS) for each in together.loaded(folders)]
    ends = ("odt", "xml", "tex")
    made = together.bundled(worked, tmp_path / "out", "Two swivels", (90,), ("svg",), datetime.date(2026, 1, 2), ends)
    with zipfile.ZipFile(made / "report.odt") as packed:
        assert packed.testzip() is None
        odt = ElementTree.fromstring(packed.read("content.xml"))
        pictures = [name for name in packed.namelist() if name.startswith("Pictures/")]
    jats = ElementTree.fromstring(re.sub(r"<!DOCTYPE[^>]*>", "", (made / "report.xml").read_text(encoding="utf-8")))
    tex = (made / "report.tex").read_text(encoding="utf-8").replace(r"\textquotesingle ", "'")
    text = {"odt": " ".join(odt.itertext()), "xml": " ".join(jats.itertext()), "tex": tex}
    of_text = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"
    found = {"odt": [" ".join(head.itertext()) for head in odt.iter(f"{of_text}h")],
             "xml": [head.findtext("title") for head in [*jats.iter("sec"), *jats.iter("ref-list")]],
             "tex": re.findall(r"\\(?:sub)?section\{([^}]*)\}", tex)}
    titles = [each.study.title for each in worked]
    for end in ends:
        plain = " ".join(re.sub(r"\\[,%]|[{}\u202f\u00a0~]", " ", text[end]).split())
        assert found[end] == ["The object", "The claims", *titles, "The verdicts", "What they share", "What limits each", *titles,
                              "Methods and tables in full", "References"], end
        for said in (*(f"Table {i}. " for i in (1, 2, 3)), *(f"Figure {i}. " for i in (1, 2)), "not the product of their chances"):
            assert said in plain, (end, said)
    of_tables = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
    assert len(list(odt.iter(f"{of_tables}table"))) == len(list(jats.iter("table"))) == tex.count(r"\begin{longtable}") == 3
    assert len(pictures) == len(list(jats.iter("graphic"))) == len(re.findall(r"\\includegraphics\[[^]]*\]\{studies", tex)) == 2
    href = "{http://www.w3.org/1999/xlink}href"
    own = sorted(f"studies/{path.name}/figures/figure-1-verdict-140mm" for path in (made / "studies").iterdir())
    assert sorted(picture.get(href) for picture in jats.iter("graphic")) == [f"{name}.png" for name in own]
    assert sorted(re.findall(r"\{(studies/[^}]*)\}", tex)) == [f"{name}.pdf" for name in own]
    cited = len({key for each in worked for key in each.citing.works})
    assert cited and len(list(jats.iter("ref"))) == cited == len(re.findall(r"\\bibitem", tex)), cited
    again = together.bundled(worked, tmp_path / "again", "Two swivels", (90,), ("svg",), datetime.date(2026, 1, 2), ends)
    assert all((again / f"report.{end}").read_bytes() == (made / f"report.{end}").read_bytes() for end in ends)


def test_a_shared_assumption_is_one_that_both_take_alike(folders, quick):
    own = (folders[1] / "assumptions.csv").read_text(encoding="utf-8").splitlines()
    names = own[0].split(",")
    row = {"key": "drive.rest_tension", "value": "30", "low": "20", "high": "45", "limits": "p5_p95", "unit": "N", "shape": "lognormal", "grade": "conjecture", "source": "assumption", "note": "of this test"}
    (folders[1] / "assumptions.csv").write_text("\n".join([*own, ",".join(row.get(name, "") for name in names), ""]), encoding="utf-8")
    worked = [writeup.WorkedOut(each, DRAWS) for each in together.loaded(folders)]
    frame, _, _ = together.tables(worked, together._citing(worked))["shared"]
    told = frame.set_index("key")["alike"]
    assert told["drive.rest_tension"] == "no" and (told == "yes").sum() > 20


def test_what_cannot_be_set_side_by_side_is_told_in_one_line(folders, tmp_path, capsys, quick):
    thin, thick = map(str, folders)

    def said(*given):
        assert command.main(["writeup", *given, "--out", str(tmp_path / "out"), "--draws", str(DRAWS)]) == 2
        told = capsys.readouterr().err.strip()
        assert "\n" not in told and not (tmp_path / "out").exists()
        return told

    assert "--title is of a report on several studies" in said(thin, "--title", "One swivel")
    assert "is given twice; name each study once" in said(thin, thick, f"{thick}/../thin")
    shutil.copytree(thin, tmp_path / "copied")
    assert "are both called \"The thread-maker's swivel\"; give each a title of its own" in said(thin, str(tmp_path / "copied"))
    assert "there is no such file; a study is a folder" in said(thin, str(tmp_path / "nowhere"))
    change(folders[1] / "study.toml", r'wall = "0.7 mm"', 'wall = "0.7"')
    assert "study.toml" in said(thin, thick)


def test_one_key_for_two_works_is_told(folders, tmp_path, quick):
    for folder, title in zip(folders, ("Of swivels", "Of threads")):
        with open(folder / "sources.bib", "a", encoding="utf-8") as bib:
            bib.write(f"\n@book{{maker1900,\n author = {{A. Maker}},\n title = {{{title}}},\n year = {{1900}},\n note = {{invented}}}}\n")
        with open(folder / "assumptions.csv", "a", encoding="utf-8") as table:
            names = (folder / "assumptions.csv").read_text(encoding="utf-8").splitlines()[0].split(",")
            row = {"key": "drive.rest_tension", "value": "30", "low": "20", "high": "45", "limits": "p5_p95", "unit": "N", "shape": "lognormal", "grade": "handbook", "source": "maker1900", "note": "invented"}
            table.write(",".join(row.get(name, "") for name in names) + "\n")
    with pytest.raises(ValueError, match="both cite 'maker1900', and mean different works by it"):
        together.bundle(folders, tmp_path / "out", draws=DRAWS, widths=(90,))
    assert not (tmp_path / "out").exists()
