"""A study's archive, ready for a deposit: what is in it, who made it, how it was computed, and the zip itself.

Plain data in, plain data or text out; nothing is filled in that the author has not said. Follows RO-Crate 1.2 (chapters
Root Data Entity, Data Entities, Provenance), Citation File Format 1.2.0, and Data Package 1 with Table Schema. Their
identifiers stand in the output; nothing is ever fetched.
"""
import datetime
import json
import os
import re
import tempfile
import unicodedata
import zipfile
from pathlib import Path
from urllib.parse import quote

from kit.base import tables

CRATE = "https://w3id.org/ro/crate/1.2"
METADATA = "ro-crate-metadata.json"
# Licences that suit a study's data and text, by their SPDX identifier; any other goes by its web address
LICENCES = {
    "CC0-1.0": "Creative Commons Zero 1.0 Universal", "CC-BY-4.0": "Creative Commons Attribution 4.0 International",
    "CC-BY-SA-4.0": "Creative Commons Attribution Share Alike 4.0 International",
    "CC-BY-NC-4.0": "Creative Commons Attribution Non Commercial 4.0 International",
    "CC-BY-NC-SA-4.0": "Creative Commons Attribution Non Commercial Share Alike 4.0 International",
    "CC-BY-ND-4.0": "Creative Commons Attribution No Derivatives 4.0 International",
    "CC-BY-NC-ND-4.0": "Creative Commons Attribution Non Commercial No Derivatives 4.0 International",
    "ODbL-1.0": "Open Data Commons Open Database License 1.0",
    "ODC-By-1.0": "Open Data Commons Attribution License 1.0",
    "PDDL-1.0": "Open Data Commons Public Domain Dedication and License 1.0", "MIT": "MIT License"}
FORMATS = {".csv": "text/csv", ".md": "text/markdown", ".txt": "text/plain", ".html": "text/html",
           ".pdf": "application/pdf", ".svg": "image/svg+xml", ".png": "image/png", ".tif": "image/tiff",
           ".tiff": "image/tiff", ".jpg": "image/jpeg", ".jpeg": "image/jpeg", ".json": "application/json",
           ".toml": "application/toml", ".cff": "application/yaml", ".bib": "application/x-bibtex",
           ".tex": "application/x-tex", ".zip": "application/zip", ".ipynb": "application/x-ipynb+json"}
AUTHOR = {"family-names": "familyName", "given-names": "givenName", "affiliation": "affiliation"}   # CFF: RO-Crate
FIELD_TYPES = ("string", "number", "integer", "boolean", "object", "array", "date", "time", "datetime", "year",
               "yearmonth", "duration", "geopoint", "geojson", "any")


def crate(title, description, date, files, authors=(), licence="", software=None, libraries=None, run=None,
          keywords=()):
    """What ro-crate-metadata.json says, as a dict: its files, authors and licence, and how it was computed.

    title, description: of the study. date: of the archive, yyyy-mm-dd.
    files: dicts with path (from the archive's root, with /), name, description and size (bytes); "made": False marks
    what the author supplied, all else counts as computed. They are listed by path.
    authors: dicts with family and, where known, given, affiliation and orcid.
    licence: an identifier of LICENCES or a web address; where it is empty, the crate says that none is chosen yet.
    software: dict with name and version of what computed the files; libraries: {name: version} that it stands on;
    run: what else makes the numbers come again, such as {"draws": 16384, "seed": 1}. keywords: words or phrases.
    Raises ValueError for text, date, licence or ORCID that cannot stand, and for a path that leaves the archive or
    stands twice.
    """
    date, people = _day(date), _people(authors)
    libraries = dict(sorted((libraries or {}).items()))
    listed = sorted(({**file, "id": _path_id(file["path"])} for file in files), key=lambda file: file["path"])
    computed = [_action(date, people, listed, software, libraries, run or {})] if software else []
    root = {"@id": "./", "@type": "Dataset", "name": _said("title", title),
            "description": _said("description", description), "datePublished": date,
            "license": _ref(_licence(licence)), "author": _refs(people),
            "keywords": _one(list(dict.fromkeys(keywords))), "hasPart": _refs(file["id"] for file in listed),
            "mentions": _refs(computed)}
    parts = [{"@id": file["id"], "@type": "File", "name": _said("name", file["name"]),
              "description": _said("description", file["description"]),
              "encodingFormat": FORMATS.get(Path(file["path"]).suffix.lower(), "application/octet-stream"),
              "contentSize": str(file["size"])} for file in listed]
    graph = [{"@id": METADATA, "@type": "CreativeWork", "about": {"@id": "./"}, "conformsTo": {"@id": CRATE}},
             _filled(root), *parts, *people, _licence(licence),
             *(_applications(software, libraries) if software else ()), *computed]
    ids = [entity["@id"] for entity in graph]
    twice = next((i for i in ids if ids.count(i) > 1), None)
    if twice:
        raise ValueError(f"{twice!r} stands twice in the archive; list each file once, and {METADATA} not at all")
    return {"@context": f"{CRATE}/context", "@graph": graph}


def citation(title, authors, date, version, message, abstract="", keywords=(), licence=""):
    """Text of a CITATION.cff for the study's data, Citation File Format 1.2.0.

    Arguments as in `crate`; version: of the archive, as text; message: what is asked of whoever uses it.
    Where no author or no licence is given, a comment says what to fill in, and the file is valid all the same.
    Raises ValueError for text, date, licence or ORCID that cannot stand.
    """
    known, people = _licence(licence), _people(authors)
    lines = ["cff-version: 1.2.0", f"message: {_quoted(_said('message', message))}",
             f"title: {_quoted(_said('title', title))}", "type: dataset", "authors:"]
    if not people:
        lines += ["  # no author is named yet: before the deposit, fill in each author's",
                  "  # family-names, given-names, affiliation and orcid in place of the next line",
                  '  - name: "author not named yet"']
    for person in people:
        said = [f"{key}: {_quoted(person[name])}" for key, name in AUTHOR.items() if name in person]
        said += [f"orcid: {_quoted(person['@id'])}"] if person["@id"].startswith("https:") else []
        lines += [f"  {'-' if i == 0 else ' '} {line}" for i, line in enumerate(said)]
    lines += [f"version: {_quoted(_said('version', version))}", f"date-released: {_quoted(_day(date))}"]
    if not licence:
        lines.append("# license: not chosen yet; fill in an SPDX identifier, such as CC-BY-4.0, before the deposit")
    else:
        lines.append(f"license: {licence}" if licence in LICENCES else f"license-url: {_quoted(known['@id'])}")
    lines.append("# doi: put it here when the archive has one")
    if keywords:
        lines += ["keywords:", *(f"  - {_quoted(_said('keyword', word))}" for word in dict.fromkeys(keywords))]
    if abstract:
        lines.append(f"abstract: {_quoted(abstract)}")
    return "\n".join(lines) + "\n"


def check(title, authors=(), licence=""):
    """Raises ValueError for a title, author or licence that no deposit takes: to be asked before hours of work."""
    citation(title, authors, "2000-01-01", "1.0.0", "asked beforehand", licence=licence)


def dictionary(tables_of, title):
    """What datapackage.json says, as a dict: every CSV of the archive with what each of its columns holds.

    tables_of: {path of the CSV: (title, fields)}; a field is a dict with name, type (of Table Schema), description and,
    for a quantity, unit, which is put behind the description; constraints and the like are kept. title: of the whole.
    Tables come by path, columns in their own order.
    Raises ValueError for a path that leaves the archive, an unknown type, and a column not described or named twice.
    """
    names = {path: _slug(path.rsplit(".", 1)[0].replace("/", "-")) for path in sorted(tables_of)}
    resources = []
    for i, (path, name) in enumerate(names.items(), 1):
        _path_id(path)
        caption, fields = tables_of[path]
        alone = list(names.values()).count(name) == 1   # two paths may differ by an accent, which a name cannot show
        resources.append({"name": name if alone else f"{name}-{i}", "path": path, "title": _said("title", caption),
                          "profile": "tabular-data-resource", "format": "csv", "mediatype": "text/csv",
                          "encoding": "utf-8", "schema": {"fields": _fields(path, fields), "missingValues": [""]}})
    return {"name": _slug(title), "title": _said("title", title), "profile": "tabular-data-package",
            "resources": resources}


def pack(folder, path):
    """Zip of a folder's files, hidden ones included, at `path`; the path. The folder itself is the root of the zip.

    The same files give the same bytes: sorted names, the time stamp 1980-01-01, one permission, one compression
    (another build of zlib may compress otherwise). Written beside the target under another name, and moved when whole.
    Raises FileExistsError rather than lose a file, NotADirectoryError or FileNotFoundError for a folder that is not
    there, ValueError for an empty folder or a target inside it, OSError where the disk is full or closed; whatever
    stops it, nothing is left behind.
    """
    folder, path = Path(folder), Path(path)
    if not folder.is_dir():
        raise NotADirectoryError(f"{folder}: there is no such folder to pack")
    if not path.parent.is_dir():
        raise FileNotFoundError(f"{path.parent}: there is no such folder to put the archive in; make it first")
    if folder.resolve() in path.resolve().parents:
        raise ValueError(f"{path} lies inside the folder that it is to hold; give a place outside of {folder}")
    names = sorted(file.relative_to(folder).as_posix() for file in folder.rglob("*") if file.is_file())
    if not names:
        raise ValueError(f"{folder}: there is no file in it to pack")
    handle, draft = tempfile.mkstemp(dir=path.parent, prefix=".archive-", suffix=".zip")
    os.close(handle)
    try:
        with zipfile.ZipFile(draft, "w") as packed:
            for name in names:
                entry = zipfile.ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0))
                entry.create_system, entry.external_attr, entry.compress_type = 3, 0o100644 << 16, zipfile.ZIP_DEFLATED
                packed.writestr(entry, (folder / name).read_bytes(), compresslevel=9)
        os.chmod(draft, 0o644)
        if path.exists():   # asked last: it may have come while we packed
            raise FileExistsError(f"{path} is there already; give another name, or move it away")
        os.replace(draft, path)
    finally:
        Path(draft).unlink(missing_ok=True)
    return path


# --- parts ----------------------------------------------------------------------------------------------------------

def _said(what, text):
    if not str(text).strip():
        raise ValueError(f"the {what} is empty; a deposit needs it")
    return str(text)


def _day(date):
    try:
        return datetime.date.fromisoformat(str(date)).isoformat()
    except ValueError:
        raise ValueError(f"{date!r} is no day of the calendar; write it as yyyy-mm-dd") from None


def _ref(entity):
    return {"@id": entity["@id"] if isinstance(entity, dict) else entity}


def _one(values):
    """RO-Crate 1.2, appendix RO-Crate JSON-LD: an array of one element should be unpacked to that element."""
    return values[0] if len(values) == 1 else values


def _refs(entities):
    return _one([_ref(entity) for entity in entities])


def _path_id(path):
    """A path as identifier: / between folders, signs that no URI allows as %xx, letters of any script as they are
    (RO-Crate 1.2, Data Entities, Encoding file paths in @ids)."""
    if "\\" in path or re.match(r"~|[A-Za-z]:", path) or {"", ".", ".."} & set(path.split("/")):
        raise ValueError(f"{path!r} is no path inside the archive; give it from the archive's root, with / between "
                         "folders")
    return "".join(sign if ord(sign) > 127 else quote(sign, safe="/-_.~!$&'()*+,;=@") for sign in path)


def _slug(text):
    plain = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c)).lower()
    return re.sub(r"[^a-z0-9._]+", "-", plain).strip("-.") or "unnamed"


def _people(authors):
    people = [_person(author) for author in authors]
    for i, person in enumerate(people):
        if person["@id"] in (other["@id"] for other in people[:i]):
            raise ValueError(f"author {person['name']!r} stands twice; name each once, and tell two people of one name "
                             "apart by their orcid")
    return people


def _local(kind, name):
    """Identifier within the crate, of the letters of any script."""
    return "#" + "-".join([kind, *re.findall(r"\w+", name)])


def _person(author):
    """Person entity; one without ORCID goes by the name."""
    given, family = author.get("given", ""), _said("family name of an author", author.get("family", ""))
    return _filled({"@id": _orcid(author["orcid"]) if author.get("orcid") else _local("person", f"{family} {given}"),
                    "@type": "Person", "name": f"{given} {family}".strip(), "familyName": family, "givenName": given,
                    "affiliation": author.get("affiliation")})


def _orcid(text):
    """Checked by its last digit, ISO 7064 MOD 11-2: an ORCID with a slip of the pen is someone else's."""
    bare = str(text).strip().rstrip("/").rsplit("/", 1)[-1]
    if re.fullmatch(r"([0-9]{4}-){3}[0-9]{3}[0-9X]", bare):
        total = 0
        for digit in bare.replace("-", "")[:-1]:
            total = (total + int(digit)) * 2
        if "0123456789X"[(12 - total % 11) % 11] == bare[-1]:
            return f"https://orcid.org/{bare}"
    raise ValueError(f"{text!r} is no ORCID; it has four groups of four digits, the last a check on the others: "
                     "copy it whole")


def _licence(licence):
    if not licence:
        return {"@id": "#licence", "@type": "CreativeWork", "name": "not chosen yet: fill in before deposit",
                "description": "The author has not chosen a licence for this archive yet."}
    if licence in LICENCES:
        return {"@id": f"https://spdx.org/licenses/{licence}", "@type": "CreativeWork", "name": licence,
                "description": LICENCES[licence]}
    if re.fullmatch(r"https?://\S+", licence):
        return {"@id": licence, "@type": "CreativeWork", "name": licence,
                "description": "The licence whose text stands at this address."}
    raise ValueError(f"unknown licence {licence!r}; {tables.nearest(licence, LICENCES)} Or give the web address of "
                     "its text")


def _applications(software, libraries):
    """RO-Crate 1.2, Provenance: software is a SoftwareApplication with its version."""
    stands_on = [{"@id": _local("software", name), "@type": "SoftwareApplication", "name": name, "version": version}
                 for name, version in libraries.items()]
    kit = {"@id": _local("software", software["name"]), "@type": "SoftwareApplication", "name": software["name"],
           "version": software["version"], "softwareRequirements": _refs(stands_on)}
    return [_filled(kit), *stands_on]


def _action(date, people, files, software, libraries, run):
    """RO-Crate 1.2, Provenance: software is the instrument of a CreateAction, input its object, output its result."""
    said = {software["name"]: software["version"]} | run | libraries
    return _filled({
        "@id": "#computed", "@type": "CreateAction", "name": "how the results were computed",
        "description": ", ".join(f"{name} {value}" for name, value in said.items()), "endTime": date,
        "agent": _refs(people), "instrument": {"@id": _local("software", software["name"])},
        "object": _refs(file["id"] for file in files if not file.get("made", True)),
        "result": _refs(file["id"] for file in files if file.get("made", True))})


def _filled(entity):
    """Without what is not known."""
    return {name: value for name, value in entity.items() if value}


def _quoted(text):
    """Text as a YAML double-quoted scalar: JSON's quoting, and escapes for what YAML will not have bare."""
    return re.sub("[\x7f-\x9f\u2028\u2029\ud800-\udfff\ufeff\ufffe\uffff]", lambda sign: f"\\u{ord(sign[0]):04x}",
                  json.dumps(text, ensure_ascii=False))


def _fields(path, fields):
    described = []
    for field in fields:
        place = f"{path}, column {field['name']!r}"
        if field["type"] not in FIELD_TYPES:
            raise ValueError(f"{place}: unknown type {field['type']!r}; {tables.nearest(field['type'], FIELD_TYPES)}")
        if not field.get("description", "").strip():
            raise ValueError(f"{place}: no description; say what it holds")
        if field["name"] in (other["name"] for other in described):
            raise ValueError(f"{place}: it stands twice; give each column a name of its own")
        unit = f", in {field['unit']}" if field.get("unit") else ""
        described.append({name: value for name, value in field.items() if name != "unit"}
                         | {"description": field["description"] + unit})
    return described
