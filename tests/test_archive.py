"""kit.archive: each description is valid by its own standard and says no more than is known; the zip is whole."""
import csv
import errno
import hashlib
import json
import os
import random
import re
import subprocess
import sys
import warnings
import zipfile
from pathlib import Path

import jsonschema
import pytest
import yaml
from hypothesis import example, given
from hypothesis import strategies as st

from kit import archive, tables

ROOT = Path(__file__).parents[1]
CFF = json.loads((Path(__file__).parent / "schemas" / "cff-1.2.0.json").read_text(encoding="utf-8"))
# ORCIDs as printed in RO-Crate 1.2, chapters Contextual Entities and Provenance
ORCIDS = ("0000-0002-1825-0097", "0000-0002-8367-6908", "0000-0001-6121-5409", "0000-0002-0068-716X",
          "0000-0002-3545-944X")
AUTHORS = ({"family": "Müller: the \"elder\"", "given": "Jérôme", "affiliation": "Guild of Turners",
            "orcid": ORCIDS[0]},
           {"family": "張", "given": "偉"})
FILES = ({"path": "tables/verdict öl 50%.csv", "name": "verdict", "description": "chance of each step", "size": 10},
         {"path": "study.toml", "name": "study", "description": "as the author wrote it", "size": 0, "made": False},
         {"path": "figures/margins.PDF", "name": "margins", "description": "margins of every step", "size": 2000})
STUDY = {"title": "The harbour dial", "description": "Four sleeves and a pump", "date": "2026-11-25",
         "files": FILES, "authors": AUTHORS, "software": {"name": "ancient-method-kit", "version": "0.1.0"},
         "libraries": {"numpy": "2.4.6", "Python": "3.11.7"}, "run": {"draws": 16384, "seed": 1},
         "keywords": ("lapping", "bow lathe", "lapping")}
CITED = {"title": "The harbour dial", "authors": AUTHORS, "date": "2026-11-25", "version": "1.0", "message": "Cite it.",
         "abstract": "Line one.\nLine: two.", "keywords": ("lapping", "no: yes", "lapping"), "licence": "CC-BY-4.0"}
FIELDS = [{"name": "step", "type": "string", "description": "what is done", "constraints": {"required": True}},
          {"name": "torque", "type": "number", "description": "asked of the spindle", "unit": "N·m"}]


def entities(**changes):
    """{@id: entity} of a crate, each once."""
    graph = archive.crate(**STUDY | changes)["@graph"]
    found = {entity["@id"]: entity for entity in graph}
    assert len(found) == len(graph)
    return found


def ids(value):
    return [one["@id"] for one in (value if isinstance(value, list) else [value])]


# --- RO-Crate 1.2: the chapter stands beside each demand ------------------------------------------------------------

def test_crate_descriptor():
    """Root Data Entity: "MUST contain a self-describing RO-Crate Metadata Descriptor with the @id value
    ro-crate-metadata.json and @type CreativeWork", with about; conformsTo "SHOULD have a single value"."""
    record = archive.crate(**STUDY)
    assert record["@context"] == "https://w3id.org/ro/crate/1.2/context"
    assert record["@graph"][0] == {"@id": "ro-crate-metadata.json", "@type": "CreativeWork", "about": {"@id": "./"},
                                   "conformsTo": {"@id": "https://w3id.org/ro/crate/1.2"}}


@pytest.mark.parametrize("name, value", [
    ("@type", "Dataset"),                # MUST be Dataset
    ("@id", "./"),                       # SHOULD be the string ./
    ("name", "The harbour dial"),        # MUST be there
    ("description", "Four sleeves and a pump"),
    ("datePublished", "2026-11-25"),     # MUST be a single string in ISO 8601, SHOULD be to the day
    ("keywords", ["lapping", "bow lathe"]),
    ("license", {"@id": "#licence"})])   # SHOULD link to an entity with name and description
def test_crate_root(name, value):
    """Root Data Entity: "The Root Data Entity MUST have all of the properties listed below"."""
    assert entities()["./"][name] == value


@pytest.mark.parametrize("licence, name, identifier", [
    ("", "not chosen yet: fill in before deposit", "#licence"),
    ("CC-BY-4.0", "CC-BY-4.0", "https://spdx.org/licenses/CC-BY-4.0"),
    ("https://museum.example/terms", "https://museum.example/terms", "https://museum.example/terms")])
def test_crate_licence(licence, name, identifier):
    found = entities(licence=licence)
    chosen = found[found["./"]["license"]["@id"]]
    assert chosen.pop("description")
    assert chosen == {"@id": identifier, "@type": "CreativeWork", "name": name}


def test_crate_files():
    """Data Entities: a file MUST have @type File, MUST be linked from the root by hasPart, and SHOULD have name,
    description, encodingFormat and contentSize (in bytes)."""
    found = entities()
    assert ids(found["./"]["hasPart"]) == ["figures/margins.PDF", "study.toml", "tables/verdict%20öl%2050%25.csv"]
    assert found["tables/verdict%20öl%2050%25.csv"] == {
        "@id": "tables/verdict%20öl%2050%25.csv", "@type": "File", "name": "verdict",
        "description": "chance of each step", "encodingFormat": "text/csv", "contentSize": "10"}
    assert found["figures/margins.PDF"]["encodingFormat"] == "application/pdf"
    assert found["study.toml"]["contentSize"] == "0"
    assert entities(files=[FILES[0] | {"path": "odd.xyz"}])["odd.xyz"]["encodingFormat"] == "application/octet-stream"


@pytest.mark.parametrize("path, identifier", [
    ("Results and Diagrams/almost-50%.png", "Results%20and%20Diagrams/almost-50%25.png"),   # printed there
    ("面试.mp4", "面试.mp4"),                                                                 # printed there
    ("a#b?c[d]:e|f.csv", "a%23b%3Fc%5Bd%5D%3Ae%7Cf.csv")])
def test_crate_paths(path, identifier):
    """Data Entities, Encoding file paths in @ids: escape special signs, keep letters of other scripts as they are."""
    found = entities(files=[FILES[0] | {"path": path}])
    assert ids(found["./"]["hasPart"]) == [identifier] and found[identifier]["@type"] == "File"


@pytest.mark.parametrize("path", ["../a.csv", "/a.csv", "a//b.csv", "a\\b.csv", "C:/a.csv", "./a.csv", "~/a.csv", ""])
def test_paths_stay_inside(path):
    with pytest.raises(ValueError, match="is no path inside the archive"):
        entities(files=[FILES[0] | {"path": path}])
    with pytest.raises(ValueError, match="is no path inside the archive"):
        archive.dictionary(tables_of={path: ("T", FIELDS)}, title="T")


def test_crate_authors():
    """Contextual Entities, People: an author is a Person, by ORCID where there is one."""
    found = entities()
    first, second = ids(found["./"]["author"])
    assert found[first] == {
        "@id": f"https://orcid.org/{ORCIDS[0]}", "@type": "Person", "name": "Jérôme Müller: the \"elder\"",
        "familyName": "Müller: the \"elder\"", "givenName": "Jérôme", "affiliation": "Guild of Turners"}
    assert second.startswith("#") and found[second]["name"] == "偉 張" and "affiliation" not in found[second]
    assert "author" not in entities(authors=())["./"]   # nobody is made up


def test_crate_says_how_it_was_computed():
    """Provenance: a SoftwareApplication with its version, the instrument of a CreateAction, the files its result, the
    input its object; an action SHOULD have name, endTime and agent."""
    found = entities()
    action = found[found["./"]["mentions"]["@id"]]
    kit = found[action["instrument"]["@id"]]
    assert action["@type"] == "CreateAction" and action["name"] and action["endTime"] == "2026-11-25"
    assert action["agent"] == found["./"]["author"]
    assert ids(action["object"]) == ["study.toml"]
    assert ids(action["result"]) == ["figures/margins.PDF", "tables/verdict%20öl%2050%25.csv"]
    assert action["description"] == "ancient-method-kit 0.1.0, draws 16384, seed 1, Python 3.11.7, numpy 2.4.6"
    assert (kit["@type"], kit["name"], kit["version"]) == ("SoftwareApplication", "ancient-method-kit", "0.1.0")
    stands_on = [found[identifier] for identifier in ids(kit["softwareRequirements"])]
    assert [(one["name"], one["version"]) for one in stands_on] == [("Python", "3.11.7"), ("numpy", "2.4.6")]
    kinds = {entity["@type"] for entity in entities(software=None).values()}
    assert kinds == {"CreativeWork", "Dataset", "File", "Person"}


def test_crate_is_flat_and_compacted():
    """Appendix RO-Crate JSON-LD: entities stand in @graph, refer to others by an object with @id alone, and an array of
    one is unpacked; every reference here leads to an entity of the crate."""
    for found in (entities(), entities(authors=AUTHORS[:1], files=FILES[:1], libraries={}, keywords=["one"])):
        for entity in found.values():
            for name, value in entity.items():
                assert not isinstance(value, list) or len(value) > 1, name
                for one in value if isinstance(value, list) else [value]:
                    if isinstance(one, dict):
                        assert set(one) == {"@id"}
                        assert one["@id"] in found or one["@id"] == "https://w3id.org/ro/crate/1.2"
                    else:
                        assert isinstance(one, str) and one


def test_crate_uses_known_words():
    """Against the context that the rocrate library carries: of a later version, which keeps the words."""
    import rocrate
    path = Path(rocrate.__file__).parent / "data" / "ro-crate.jsonld"
    context = json.loads(path.read_text(encoding="utf-8"))["@context"]
    words = {word for entity in entities().values() for word in [*entity, entity["@type"]] if not word.startswith("@")}
    assert len(words) > 20 and words <= set(context)


def test_crate_is_read_by_another_library(tmp_path):
    from rocrate.rocrate import ROCrate
    for file in FILES:
        (tmp_path / file["path"]).parent.mkdir(exist_ok=True)
        (tmp_path / file["path"]).write_text("x", encoding="utf-8")
    text = json.dumps(archive.crate(**STUDY), ensure_ascii=False)
    (tmp_path / "ro-crate-metadata.json").write_text(text, encoding="utf-8")
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        read = ROCrate(tmp_path)
    assert (read.version, read.name, str(read.datePublished.date())) == ("1.2", "The harbour dial", "2026-11-25")
    sources = {entity.source.relative_to(tmp_path).as_posix() for entity in read.data_entities}
    assert sources == {file["path"] for file in FILES}
    assert read.root_dataset["license"]["name"] == "not chosen yet: fill in before deposit"
    assert [author["name"] for author in read.root_dataset["author"]] == ["Jérôme Müller: the \"elder\"", "偉 張"]
    assert read.root_dataset["mentions"]["instrument"]["version"] == "0.1.0"
    assert len(list(read.get_entities())) == len(entities())   # nothing was dropped, nothing unreachable


def test_crate_does_not_depend_on_the_order_given():
    shuffled = list(FILES)
    random.Random(1).shuffle(shuffled)
    turned = STUDY | {"files": shuffled, "libraries": dict(reversed(STUDY["libraries"].items()))}
    assert shuffled != list(FILES)
    assert json.dumps(archive.crate(**turned)) == json.dumps(archive.crate(**STUDY))


CANNOT_STAND = [
    ({"title": " "}, "the title is empty"), ({"description": ""}, "the description is empty"),
    ({"date": "25.11.2026"}, "'25.11.2026' is no day of the calendar; write it as yyyy-mm-dd"),
    ({"licence": "CC BY 4.0"}, "unknown licence 'CC BY 4.0'; did you mean 'CC-BY-4.0'"),
    ({"authors": [{"given": "Jo"}]}, "the family name of an author is empty"),
    ({"authors": [AUTHORS[1], AUTHORS[1]]}, "author '偉 張' stands twice"),
    ({"authors": [{"family": "A", "orcid": "0000-0002-1825-0079"}]}, "is no ORCID"),    # two digits changed places
    ({"authors": [{"family": "A", "orcid": "0000-0002-1825"}]}, "is no ORCID")]


@pytest.mark.parametrize("changes, said", CANNOT_STAND)
def test_what_cannot_stand_in_a_crate(changes, said):
    with pytest.raises(ValueError, match=said):
        archive.crate(**STUDY | changes)


@pytest.mark.parametrize("changes, said", [
    *(case for case in CANNOT_STAND if "description" not in case[0]), ({"message": ""}, "the message is empty"),
    ({"version": ""}, "the version is empty"), ({"keywords": [""]}, "the keyword is empty")])
def test_what_cannot_stand_in_a_citation(changes, said):
    with pytest.raises(ValueError, match=said):
        archive.citation(**CITED | changes)


@pytest.mark.parametrize("files", [FILES[:1] * 2, [FILES[0] | {"path": "ro-crate-metadata.json"}]])
def test_no_file_stands_twice(files):
    """Contextual Entities: the @graph MUST NOT list multiple entities with the same @id."""
    with pytest.raises(ValueError, match="stands twice in the archive"):
        archive.crate(**STUDY | {"files": files})


@pytest.mark.parametrize("orcid", ORCIDS)
def test_orcids_as_printed(orcid):
    for written in (orcid, f"https://orcid.org/{orcid}", f" orcid.org/{orcid}/ "):
        root = entities(authors=[{"family": "A", "orcid": written}])["./"]
        assert root["author"] == {"@id": f"https://orcid.org/{orcid}"}
    slipped = orcid[:-1] + ("0" if orcid[-1] != "0" else "1")
    with pytest.raises(ValueError, match="is no ORCID"):
        entities(authors=[{"family": "A", "orcid": slipped}])


# --- Citation File Format 1.2.0, against its published schema -------------------------------------------------------

# What YAML does not print, takes for a line's end, or for a byte order mark (YAML 1.2, chapter Character Productions)
BARELY_YAML = re.compile("[^\n\x20-\x7e\xa0-\u2027\u202a-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]")
CHECK = jsonschema.Draft7Validator(CFF, format_checker=jsonschema.FormatChecker()).validate


def valid(text):
    """What a CITATION.cff says, once the schema has found nothing in it."""
    said = json.loads(json.dumps(yaml.safe_load(text), default=str))   # the schema asks that dates be cast to text
    CHECK(said)
    return said


def test_the_schema_is_that_of_version_1_2_0_and_bites():
    assert "/1.2.0/" in CFF["$id"] and CFF["properties"]["cff-version"]["pattern"] == r"^1\.2\.0$"
    assert sorted(CFF["required"]) == ["authors", "cff-version", "message", "title"]
    least = {"cff-version": "1.2.0", "message": "m", "title": "t", "authors": [{"name": "a"}]}
    CHECK(least)
    for wrong in ({"cff-version": "1.1.0"}, {"license": "CC-BY"}, {"date-released": "2026-13-01"}, {"type": "data"},
                  {"place": "here"}, {"authors": []}, {"title": ""},
                  {"authors": [{"family-names": "A", "orcid": ORCIDS[0]}]}):
        with pytest.raises(jsonschema.ValidationError):
            CHECK(least | wrong)


def test_the_citation_of_the_kit_itself():
    said = valid((ROOT / "CITATION.cff").read_text(encoding="utf-8"))
    assert said["type"] == "software" and said["license"] == "MIT"


def test_citation_says_what_it_was_told():
    assert valid(archive.citation(**CITED)) == {
        "cff-version": "1.2.0", "message": "Cite it.", "title": "The harbour dial", "type": "dataset",
        "authors": [{"family-names": "Müller: the \"elder\"", "given-names": "Jérôme",
                     "affiliation": "Guild of Turners", "orcid": f"https://orcid.org/{ORCIDS[0]}"},
                    {"family-names": "張", "given-names": "偉"}],
        "version": "1.0", "date-released": "2026-11-25", "license": "CC-BY-4.0", "keywords": ["lapping", "no: yes"],
        "abstract": "Line one.\nLine: two."}


def test_the_date_is_text_to_any_reader():
    assert 'date-released: "2026-11-25"' in archive.citation(**CITED).splitlines()


def test_citation_with_nothing_filled_in():
    text = archive.citation(**CITED | {"authors": (), "licence": "", "keywords": (), "abstract": ""})
    said = valid(text)
    assert said["authors"] == [{"name": "author not named yet"}]
    assert not {"license", "license-url", "doi", "keywords", "abstract"} & set(said)
    comments = [line.strip() for line in text.splitlines() if line.strip().startswith("#")]
    assert any("fill in" in line and "author" in line for line in comments)
    assert any(line.startswith("# license: not chosen yet; fill in") for line in comments)
    assert text.endswith("\n") and "\r" not in text


@pytest.mark.parametrize("licence", archive.LICENCES)
def test_every_licence_is_one_that_the_format_knows(licence):
    assert valid(archive.citation(**CITED | {"licence": licence}))["license"] == licence


def test_a_licence_by_its_address():
    said = valid(archive.citation(**CITED | {"licence": "https://museum.example/terms"}))
    assert said["license-url"] == "https://museum.example/terms" and "license" not in said


@given(text=st.text(min_size=1).filter(str.strip))
@example(text='"yes": [no] #not a comment, {x}: \\ \t end')
@example(text="- 'a'\n\r\n\x85\u2028\u2029\x00\x1b\x7f\x9f\ufeff\ufffe b: &c *d !e |f >g %h @i `j")
@example(text="a \u2028 b \x85 c")
@example(text="null")
@example(text="2026-11-25")
@example(text="Löwe 張 \U0001f600")
def test_citation_keeps_any_text(text):
    written = archive.citation(**CITED | {
        "title": text, "message": text, "version": text, "abstract": text, "keywords": [text],
        "authors": [{"family": text, "given": text, "affiliation": text}]})
    said = valid(written)
    assert not BARELY_YAML.search(written)
    kept = [said[name] for name in ("title", "message", "version", "abstract")]
    assert {*kept, *said["keywords"], *said["authors"][0].values()} == {text}


# --- Data Package and Table Schema, read by another library ---------------------------------------------------------

def test_dictionary_describes_every_column():
    record = archive.dictionary(tables_of={"tables/B öl.csv": ("second", FIELDS), "A.csv": ("first", FIELDS[:1])},
                                title="Harbour dial: tables")
    assert record["name"] == "harbour-dial-tables" and record["title"] == "Harbour dial: tables"
    assert [(r["name"], r["path"], r["title"]) for r in record["resources"]] == [
        ("a", "A.csv", "first"), ("tables-b-ol", "tables/B öl.csv", "second")]
    assert record["resources"][1]["schema"]["fields"] == [
        FIELDS[0], {"name": "torque", "type": "number", "description": "asked of the spindle, in N·m"}]
    assert FIELDS[1]["unit"] == "N·m"   # what was given is left as it was


def test_names_of_tables_stay_apart():
    paths = ("ä.csv", "a.csv", "張.csv", "偉.csv")
    record = archive.dictionary(tables_of={path: ("T", FIELDS) for path in paths}, title="張")
    assert len({resource["name"] for resource in record["resources"]}) == 4


@pytest.mark.parametrize("field, said", [
    ({"name": "x", "type": "float", "description": "d"}, "a.csv, column 'x': unknown type 'float'; "),
    ({"name": "x", "type": "number", "description": " "}, "a.csv, column 'x': no description; say what it holds"),
    ({"name": "step", "type": "number", "description": "d"}, "a.csv, column 'step': it stands twice")])
def test_columns_that_cannot_stand(field, said):
    with pytest.raises(ValueError, match=said):
        archive.dictionary(tables_of={"a.csv": ("T", [*FIELDS, field])}, title="T")


@pytest.fixture
def bundle(tmp_path):
    """A folder with two tables and their description."""
    folder = tmp_path / "bundle öl"
    (folder / "tables").mkdir(parents=True)
    for name in ("tables/B öl.csv", "A.csv"):
        with open(folder / name, "w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows([["step", "torque"], ["drill, first", 0.5], ["ream", ""]])
    record = archive.dictionary(tables_of={"tables/B öl.csv": ("second", FIELDS), "A.csv": ("first", FIELDS)},
                                title="Tables")
    (folder / "datapackage.json").write_text(json.dumps(record, ensure_ascii=False), encoding="utf-8")
    return folder


def faults(path):
    """What frictionless finds wrong with a data package and the tables in it."""
    import frictionless
    return frictionless.validate(str(path)).flatten(["type", "note"])


def test_dictionary_is_read_by_another_library(bundle):
    assert faults(bundle / "datapackage.json") == []
    (bundle / "A.csv").write_text("step,torque\ndrill,fast\n,1\n", encoding="utf-8")
    assert [kind for kind, _ in faults(bundle / "datapackage.json")] == ["type-error", "constraint-error"]


def test_the_reference_tables_are_read_by_another_library():
    assert faults(tables.REFERENCE / "datapackage.json") == []


def test_the_demo_is_read_by_another_library_and_carries_the_schemas_of_the_kit():
    demo = tables.DATA / "harbour-dial"
    assert faults(demo / "datapackage.json") == []
    for resource in json.loads((demo / "datapackage.json").read_text(encoding="utf-8"))["resources"]:
        assert resource["schema"] == tables.shared_schema(f"{resource['name']}.schema.json")


# --- the zip --------------------------------------------------------------------------------------------------------

def digest(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


def left(folder):
    return sorted(path.name for path in folder.iterdir())


def test_the_same_files_give_the_same_bytes(bundle, tmp_path):
    first = archive.pack(folder=bundle, path=tmp_path / "one.zip")
    other = tmp_path / "elsewhere"
    for path in sorted(bundle.rglob("*"), reverse=True):   # written in another order, at another time, for other eyes
        if path.is_file():
            copy = other / path.relative_to(bundle)
            copy.parent.mkdir(parents=True, exist_ok=True)
            copy.write_bytes(path.read_bytes())
            os.utime(copy, (1, 1))
            copy.chmod(0o600)
    (other / "empty folder").mkdir()
    assert digest(archive.pack(folder=other, path=tmp_path / "two.zip")) == digest(first)
    (other / "A.csv").write_text("step,torque\n", encoding="utf-8")
    assert digest(archive.pack(folder=other, path=tmp_path / "three.zip")) != digest(first)


def test_the_zip_holds_every_file(bundle, tmp_path):
    (bundle / ".hidden").write_bytes(b"\0" * 5000)
    path = archive.pack(folder=str(bundle), path=str(tmp_path / "archive.zip"))
    assert path == tmp_path / "archive.zip" and path.stat().st_mode & 0o777 == 0o644
    with zipfile.ZipFile(path) as packed:
        assert packed.testzip() is None
        assert packed.namelist() == [".hidden", "A.csv", "datapackage.json", "tables/B öl.csv"]
        for entry in packed.infolist():
            assert packed.read(entry) == (bundle / entry.filename).read_bytes()
            assert entry.date_time == (1980, 1, 1, 0, 0, 0) and entry.compress_type == zipfile.ZIP_DEFLATED
            assert (entry.create_system, entry.external_attr) == (3, 0o100644 << 16)
        assert packed.getinfo("tables/B öl.csv").flag_bits & 0x800   # the name is UTF-8, and says so
        packed.extractall(tmp_path / "out")
    assert (tmp_path / "out" / "tables" / "B öl.csv").exists()


def test_a_zipped_crate_is_read_by_another_library(bundle, tmp_path):
    from rocrate.rocrate import ROCrate
    files = [{"path": "tables/B öl.csv", "name": "B", "description": "second", "size": 1}]
    text = json.dumps(archive.crate(**STUDY | {"files": files}))
    (bundle / "ro-crate-metadata.json").write_text(text, encoding="utf-8")
    read = ROCrate(archive.pack(folder=bundle, path=tmp_path / "archive.zip"))
    assert read.name == "The harbour dial" and [entity.source.exists() for entity in read.data_entities] == [True]


def test_a_file_that_is_there_stays(bundle, tmp_path):
    path = tmp_path / "archive.zip"
    path.write_text("mine")
    with pytest.raises(FileExistsError, match="is there already; give another name"):
        archive.pack(folder=bundle, path=path)
    assert path.read_text() == "mine" and left(tmp_path) == ["archive.zip", "bundle öl"]


def test_a_file_that_comes_meanwhile_stays(bundle, tmp_path, monkeypatch):
    path, chmod = tmp_path / "archive.zip", os.chmod
    monkeypatch.setattr(os, "chmod", lambda *args: (chmod(*args), path.write_text("another's")))
    with pytest.raises(FileExistsError):
        archive.pack(folder=bundle, path=path)
    assert path.read_text() == "another's" and left(tmp_path) == ["archive.zip", "bundle öl"]


@pytest.mark.parametrize("place, name", [(zipfile.ZipFile, "writestr"), (os, "replace"), (Path, "read_bytes")])
def test_a_fault_leaves_nothing(bundle, tmp_path, monkeypatch, place, name):
    def full(*args, **kwargs):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(place, name, full)
    with pytest.raises(OSError, match="No space left"):
        archive.pack(folder=bundle, path=tmp_path / "archive.zip")
    assert left(tmp_path) == ["bundle öl"] and left(bundle) == ["A.csv", "datapackage.json", "tables"]


def test_a_full_disk_leaves_nothing(bundle, tmp_path):
    """The system itself refuses the 2001st byte of any file."""
    pytest.importorskip("resource")
    (bundle / "noise").write_bytes(random.Random(1).randbytes(5000))
    code = ("import resource, sys; from kit import archive; resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000)); "
            "archive.pack(folder=sys.argv[1], path=sys.argv[2])")
    done = subprocess.run([sys.executable, "-c", code, bundle, tmp_path / "archive.zip"], capture_output=True,
                          text=True, check=False)
    assert done.returncode == 1 and "OSError" in done.stderr and "File too large" in done.stderr
    assert left(tmp_path) == ["bundle öl"] and left(bundle) == ["A.csv", "datapackage.json", "noise", "tables"]


@pytest.mark.parametrize("folder, path, error, said", [
    ("nowhere", "a.zip", NotADirectoryError, "there is no such folder to pack"),
    ("bundle öl/A.csv", "a.zip", NotADirectoryError, "there is no such folder to pack"),
    ("bundle öl", "nowhere/a.zip", FileNotFoundError, "there is no such folder to put the archive in"),
    ("bundle öl", "bundle öl/tables/a.zip", ValueError, "lies inside the folder that it is to hold"),
    ("empty", "a.zip", ValueError, "there is no file in it to pack")])
def test_what_cannot_be_packed(bundle, tmp_path, folder, path, error, said):
    (tmp_path / "empty").mkdir()
    with pytest.raises(error, match=said):
        archive.pack(folder=tmp_path / folder, path=tmp_path / path)
    assert left(tmp_path) == ["bundle öl", "empty"]
