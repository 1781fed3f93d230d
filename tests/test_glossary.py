"""The glossary: every trade term explained once, in one or two sentences, and no word of the kit left out."""
import json
import re
import tomllib

import nbformat
import pytest
from relink_notebooks import LIST, listed, relinked

from kit import bench, criteria, evidence, outcomes, study, tables, terms, use

ROWS = tables.load("glossary")
TERMS = {row["term"] for row in ROWS}
LOWER = {term.lower() for term in TERMS}
NOTEBOOKS = sorted((tables.DATA.parent / "notebooks").glob("*.ipynb"))

# Trade terms that the notebooks, the README and the comments of a study use
USED = """fit, clearance, diametral, interference, preferred fit, sliding, reamer, D-bit, fluted reamer, broach, lap, lapping, charged lap, stock, pass, feed, chip,
minimum chip thickness, edge force, ploughing, drift, arbor, centre, pulley, wrap, capstan rule, pre-tension, duty, margin, demand, capacity, criterion, draw, seed, chance, likelihood words,
grade of evidence, conjecture, sensitivity index, tornado, Sobol index, Morris screening, threshold, posterior, update, knockdown, pinch, out-of-round, surface roughness, Rz, Ra, specular,
grain, levigated, oxide, emery, thrust, chisel edge, pilot, torque, stall, wrench, bow, bow lathe, stroke, cord, barrel, plunger, sleeve, nest, mesh, train, unbalance, film ratio,
viscosity, jamming, tilt, run-out, bow of a bore, eccentricity, order of work, bore first, outside first, jaws, lobe, callipers, grip, cube law, capillary hold, leak, hold, vacuum, packing,
prior, interval, percentile, median, hit rate, prediction, blind reading, reader, repeatability, reproducibility, gauge, plug gauge, micrometer, rival, trace, equifinality, route, tube, wall,
least wall, bench log, trial, substitute, claim, fails if, verdict, weakest evidence, moved most by, limiting step, Stokes' law, cut size, hardness, annealed, worked, core, blank, lapping allowance, overrun,
oversize, form error, taper, bell mouth, broken-down grain, bridging, IT grade, tolerance, limits of size, hole basis, nominal size, Kienzle's rule, specific cutting force, kc11, exponent,
swarf, burr, provenance, correlation, model error, map, sweep, buckling, Euler load, yield, plastic moment, nomogram, strength of claim, shake, calcined, drill buckling, least running clearance, pointer shake"""

# Older words, each with the one that took its place
OLDER = {"half-round bit": "D-bit", "least chip": "minimum chip thickness", "plug": "plug gauge", "left on": "lapping allowance", "rest tension": "pre-tension",
         "spent grain": "broken-down grain", "carried by": "moved most by", "driven by": "moved most by", "piston": "plunger"} | outcomes.FORMER

# Emphasised words of the notebooks that are plain English where they stand
ORDINARY = {"how sure", "judged", "metal", "what it demands", "what bow, hand, tool and metal can give", "harbour dial", "was", "its", "then", "how far", "balance the pointers", "cube", "judgement", "as likely as not",
            "another", "can", "did", "where", "minutes", "word", "nine times in ten", "maker", "measurer", "scribe", "checker", "reamed blanks on arbors",
            "as planned", "stonings", "lap of its own", "tool hard enough", "judged", "metal"}


def text_of(notebook):
    cells = json.loads(notebook.read_text(encoding="utf-8"))["cells"]
    return terms.bare("\n".join("".join(cell["source"]) for cell in cells if cell["cell_type"] == "markdown"))


def known(phrase):
    """Whether a phrase, or its singular, is a term."""
    plain = phrase.lower().replace("-", " ")
    return bool({phrase.lower(), plain, plain.removesuffix("s"), plain.removesuffix("es")} & LOWER)


def parts(name):
    return re.split(r"[_ :.,]+", name.lower())


def explained(name):
    """Whether a name of the kit, such as 'rest_tension', holds a word of some term."""
    words = {word for term in LOWER for word in parts(term)}
    return any(word in words or word.removesuffix("s") in words for word in parts(name))


def test_sorted_and_each_term_once():
    terms = [row["term"] for row in ROWS]
    assert terms == sorted(terms, key=str.lower)
    assert len(LOWER) == len(terms), "a term stands twice"


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["term"])
def test_row(row):
    assert re.match(r"[A-Z0-9]", row["meaning"]) and row["meaning"].endswith((".", ")"))
    assert 3 <= len(row["meaning"].split()) <= 50, "one or two sentences"
    assert row["term"] == row["term"].strip() and row["see"], "every term leads on to another"
    related = row["see"].split("; ")
    assert set(related) <= TERMS, set(related) - TERMS
    assert row["term"] not in related and len(set(related)) == len(related)


@pytest.mark.parametrize(("word", "now"), OLDER.items())
def test_an_older_word_leads_to_the_one_in_use(word, now):
    row, = (row for row in ROWS if row["term"] == word)
    assert row["meaning"].endswith(f": see {now}.") and row["see"] == now
    assert [r["term"] for r in ROWS if word in r["see"].split("; ")] == [], "others lead to the word in use"
    assert not [r["term"] for r in ROWS if r["term"] not in OLDER and re.search(rf"\b{word}s?\b", r["meaning"]) and word not in ("plug", "piston", "left on", "driven by")]


def test_standards_are_works_and_not_addresses():
    cited = {part for row in ROWS if row["standard"] for part in row["standard"].split("; ")}
    assert len(cited) > 10
    for work in cited:
        assert not re.search(r"https?:|www\.", work)
        assert re.match(r"(ISO|JCGM|ANSI) [\dB]|ISO/R \d|[A-Z]", work)
        if work.startswith(("ISO", "JCGM")):
            assert re.fullmatch(r"(ISO \d+(-\d)?(:\d{4})?|ISO/R \d+ \(from memory\)|JCGM \d{3}:\d{4})", work), work
        elif not work.startswith("ANSI"):
            assert re.search(r"\(\d{4}\)|, \d{4}|from memory", work), f"{work}: no year"


@pytest.mark.parametrize("term", [term.strip() for term in USED.replace("\n", " ").split(",")])
def test_words_of_the_notebooks_are_explained(term):
    assert term in TERMS


@pytest.mark.parametrize("notebook", NOTEBOOKS, ids=lambda path: path.stem)
def test_emphasised_words_are_explained(notebook):
    """A word set off in a sentence is a term, or plain English that stands in ORDINARY; run-in headings begin with a capital."""
    text = re.sub(r"`[^`]*`", "", text_of(notebook))
    text = re.sub(r"^\s*\* ", "", text, flags=re.M)   # bullets
    set_off = {a or b for a, b in re.findall(r"\*\*([^*\n]+)\*\*|(?<!\*)\*([^*\n]+)\*(?!\*)", text)}
    short = {phrase for phrase in set_off if len(phrase.split()) <= 4 and phrase[0].islower()}
    unknown = {phrase for phrase in short if not known(phrase)} - ORDINARY
    assert not unknown, f"explain them in data/reference/glossary.csv, or put them into ORDINARY here: {sorted(unknown)}"


# terms in words, and what they are to read like on a page
LINKS = [("A lap, a lap and two laps", "A [lap](13_glossary.ipynb#cell-id=la), a lap and two laps"),
         ("the *bow lathes*; `bow`", "the *[bow lathes](13_glossary.ipynb#cell-id=bo)*; `bow`"), ("It holds, turns and yields", "It holds, turns and yields"),
         ("## A bow\n$wall$, a-wall, [a wall](x.ipynb)", "## A bow\n$wall$, a-wall, [a wall](x.ipynb)"),
         ("[arbor](13_glossary.ipynb#cell-id=ar) on an arbor", "[arbor](13_glossary.ipynb#cell-id=ar) on an arbor")]


@pytest.mark.parametrize(("text", "told"), LINKS)
def test_a_term_is_linked_at_its_first_place_alone(text, told):
    assert terms.linked(text, set()) == told and terms.bare(told) == terms.bare(text)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_every_term_of_a_page_leads_to_its_entry(path):
    """Else: python tests/relink_notebooks.py"""
    notebook = nbformat.read(path, 4)
    if path.stem == terms.PAGE:
        assert [(cell.id, cell.source) for cell in notebook.cells] == [(cell.id, cell.source) for cell in listed(notebook)]
        assert sum(cell.source.startswith(LIST) for cell in notebook.cells) == 1
        held = {cell.id: cell.source for cell in notebook.cells if cell.cell_type == "markdown"}
        assert all(re.search(rf"^\*\*{re.escape(term)}\*\* ", held[terms.cell(term)], re.M) for term in TERMS)
        assert max(len(held[terms.cell(term)].split()) for term in TERMS) < 400   # a screen
    else:
        assert [cell.source for cell in notebook.cells] == relinked(notebook)
        links = [link for cell in notebook.cells for link in terms.LINK.findall(cell.source)]
        assert len(links) > 10 and len({terms.named(link) for link in links}) == len(links)


def test_every_grade_word_and_criterion_of_the_kit_is_explained():
    for grade in evidence.GRADES:
        assert known(grade.replace("-", " ")), grade
    for _, word in evidence.LIKELIHOOD:
        assert word in " ".join(row["meaning"] for row in ROWS), word
    for name in (*criteria.CRITERIA, *use.OF_A_TUBE, *use.OF_THE_WHOLE):
        assert explained(name), name
        assert name not in outcomes.FORMER and (name not in outcomes.FORMER.values() or name in TERMS)


# keys that are plain English
PLAIN = {"authors", "cosine", "hardening", "wheel_mass", "density", "difference", "done", "family", "given", "hours", "keys", "kind", "length", "licence", "minutes", "name", "note", "part", "period", "planned", "pressure", "r", "record", "region",
         "shows", "squeeze", "temperature", "title", "to", "use", "volume", "why", "width", "workshop", "teeth", "date", "operator", "diameter_mm", "length_mm", "measured_mm", "passes_mm",
         "pressure_kPa", "mass_before_g", "mass_after_g", "outcome", "failure", "remark",
         "slide_N", "length_share", "making", "spare", "speed", "time",
         "begins", "between", "covered", "facets", "full", "judged", "long_share", "melting", "over", "uneven",
         "bridges", "drag_length", "lateral",
         "failed", "floor", "less", "less_share", "more", "pieces", "sound", "times"}
# keys whose word is another form of a term
FORMS = {"drilling": "drill", "meshes": "mesh", "cleanup": "cleaning up", "poisson": "Poisson's ratio", "runout": "run-out"}


def _keys(table):
    for key, value in table.items():
        if key in ("tools", "routes"):   # their keys are names
            for named in value.values():
                yield from _keys({"": named})
        else:
            if key:
                yield key
            for entry in value if isinstance(value, list) else [value]:
                if isinstance(entry, dict):
                    yield from _keys(entry)


def test_every_key_of_a_study_of_a_table_and_of_the_log_is_explained():
    keys = set(_keys(tomllib.loads((study.DEMO / "study.toml").read_text(encoding="utf-8"))))
    keys |= {row["key"] for name in tables.package(tables.REFERENCE) for row in tables.load(name) if "key" in row}
    keys |= {field["name"] for field in bench.schema()["fields"]}
    assert {"rest_tension", "least_chip_ratio", "shank_ratio", "stock_mm"} <= keys
    assert set(FORMS.values()) <= TERMS
    unknown = {key for key in keys - PLAIN - set(FORMS) if not explained(key)}
    assert not unknown, f"explain them in data/reference/glossary.csv, or put them into PLAIN here: {sorted(unknown)}"
