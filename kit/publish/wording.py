"""The author's own words in place of the generated ones, kept in `wording.toml` of the study's folder."""
import hashlib
import json
import tomllib

from kit.base.files import put
from kit.publish.registration import REGISTRATION
from kit.study.kept import NAMES as KEPT
from kit.study.skill import PHOTOGRAPHS, photographs
from kit.study.studyfile import StudyError

WORDING = "wording.toml"
# what a study's folder may hold
STUDY_FILES = ("study.toml", "assumptions.csv", "bench_log.csv", "sources.bib", "datapackage.json", WORDING,
               REGISTRATION, PHOTOGRAPHS, *(f"{name}.json" for name in KEPT))


def study_files(study):
    """Names of the files that a study's folder may hold, with those that its record names: a citation style, a
    reference document."""
    return (*STUDY_FILES, *filter(None, (study.record.get(name) for name in ("csl", "reference_docx"))))


def kept(study):
    """{name: {text, of}}: the texts that stand in the study's folder, each with the state of the study that it is of.

    study: a Study. Raises StudyError for a file that is not readable.
    """
    path, back = study.folder / WORDING, "mend it, or take the file away to have the generated text back"
    if not path.exists():
        return {}
    try:
        there = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise StudyError(f"{path}: not readable as TOML: {error}; {back}") from None
    except (OSError, RecursionError):
        raise StudyError(f"{path}: cannot be read; it must be a file that you may open; {back}") from None
    there = {name: {"text": entry} if isinstance(entry, str) else entry for name, entry in there.items()}
    for name, entry in there.items():
        if not (isinstance(entry, dict) and all(isinstance(entry.get(key, ""), str) for key in ("text", "of"))):
            raise StudyError(f"{path}, [{name}]: expected a text, as in text = \"...\"; {back}")
    return there


def basis(study):
    """Digest of what every sentence about a study rests on: its inputs, its record and the files of its folder."""
    files = {name: hashlib.sha256((study.folder / name).read_bytes()).hexdigest()
             for name in study_files(study) if name != WORDING and (study.folder / name).exists()}
    for row in photographs(study.folder).rows:
        files[row["file"]] = hashlib.sha256((study.folder / row["file"]).read_bytes()).hexdigest()
    rests_on = json.dumps([study.provenance(0, 0)["inputs"], files, study.fails_if, str(study.record)], sort_keys=True)
    return hashlib.sha256(rests_on.encode()).hexdigest()[:16]


def reword(study, overwrite=False, **texts):
    """Keep the author's own words in `wording.toml` of the study's folder: reword(study, verdict="...", methods="...").

    texts: by name: 'verdict', 'methods', or 'caption NAME' of a figure (as **{"caption verdict": "..."}). An empty text
    gives the generated one back. Each is kept with a digest of the study and its log as they stand, so that a later
    change is told. Returns the path.
    Raises FileExistsError for a text that is there already in other words, unless overwrite is True.
    """
    there, path = kept(study), study.folder / WORDING
    for name, text in texts.items():
        if not overwrite and name in there and there[name].get("text", "").strip() != text.strip():
            raise FileExistsError(f"{path} holds other words for {name!r} already; say overwrite=True to put yours in "
                                  "their place")
        there.pop(name, None)
        if text.strip():
            there[name] = {"text": text.strip(), "of": basis(study)}
    lines = ["# The author's own words, in place of the generated ones. `of` says for which state of the study they "
             "were written.\n"]
    for name, entry in sorted(there.items()):
        words = entry["text"].replace("\\", "\\\\").replace('"""', '\\"\\"\\"')
        of = f'of = "{entry["of"]}"\n' if "of" in entry else ""
        lines.append(f'[{json.dumps(name, ensure_ascii=False)}]\n{of}text = """\n{words}\n"""\n')
    return put(path, "\n".join(lines))
