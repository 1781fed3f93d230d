"""kit.writeup: all is made from the record, the folder is whole or not there, and the same inputs give the same bytes."""
import csv
import dataclasses
import datetime
import errno
import functools
import hashlib
import io
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import jsonschema
import numpy as np
import pytest
import yaml

import kit
from kit import claims, evidence, figures, instructions, references, report, words, worlds, writeup
from kit.study import StudyError
from kit.tables import TableError

DRAWS, DAY = 2**10, datetime.date(2026, 1, 2)
FEW = 2**8   # where the numbers do not matter
SCHEMAS = Path(__file__).parent / "schemas"
LIGHT = {"draws": DRAWS, "widths": (90,), "formats": ("pdf", "svg"), "date": DAY}   # as the bundle that conftest makes


@pytest.fixture(autouse=True)
def few_worlds(monkeypatch):
    """What a test works out by itself has a band of few worlds: in full it takes seconds."""
    monkeypatch.setattr(worlds, "band", functools.partial(worlds.band, worlds=8, inner=16))


@pytest.fixture
def copy(tmp_path):
    """The demo in a folder whose name has a space and accents."""
    folder = tmp_path / "été à bord" / "the dial"
    shutil.copytree(kit.study.DEMO, folder)
    return folder


@pytest.fixture
def quick(monkeypatch):
    """A bundle of one file, for what is not about its content."""
    monkeypatch.setattr(writeup, "plates", lambda worked: (writeup.Plate("verdict", None, "", "", None),))
    monkeypatch.setattr(writeup, "_fill", lambda folder, *rest: (folder / "README.txt").write_text("whole"))


def again(worked, study=None, **changed):
    """What is worked out already of the demo, for a copy of its study or with parts changed; what follows from these is
    worked out anew."""
    one = dataclasses.replace(worked, study=study or worked.study)
    lost = {"wording", *(("verdict_table", "strength") if "verdict" in changed else ()),
            *(("strength", "weak", "compared", "skills") if "log" in changed else ())}
    one.__dict__.update({name: value for name, value in vars(worked).items() if name not in lost | {"study", "of"}} | changed)
    return one


def digests(folder):
    return {p.relative_to(folder).as_posix(): hashlib.sha256(p.read_bytes()).hexdigest() for p in folder.rglob("*") if p.is_file()}


def rows(path):
    return list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))


# --- text -----------------------------------------------------------------------------------------------------------

def test_the_verdict_says_chance_word_scale_limit_trials_rivals_and_what_it_does_not_show(worked):
    text, verdict = writeup.verdict_text(worked), worked.verdict
    line = verdict.limiting_line
    low, mid, high = (words.number(x, 2) for x in line.quantiles("margin"))
    [tube] = [tube for tube in worked.study.tubes if tube.name == line.tube]
    for told in (worlds.likelihood(verdict.chance, verdict.worlds), f"chance {words.chance(verdict.chance)}, {verdict.worlds.said}", verdict.ways_said, "Intergovernmental Panel on Climate Change", f"{DRAWS} draws, seed 1",
                 f"'{verdict.limiting}' of the {tube.said}", f"margin {mid} ({low} to {high}), median with its 5 % to 95 % range",
                 f"met with a chance of {words.chance(line.chance)}", worked.study.labels[verdict.weakest_evidence[1]],
                 "Of 8 trials, 5 succeeded at every counted step", "24 % to 91 %",   # Clopper-Pearson, 5 of 8
                 f"Strength of the claim: {worked.strength.rung}", "cast on a core and reamed", "dendrites across the whole wall",
                 "does not say that the part was made so"):
        assert told in text, told


def test_the_verdict_without_trials_and_rivals_says_so(copy):
    (copy / "bench_log.csv").unlink()
    toml = (copy / "study.toml").read_text(encoding="utf-8")
    (copy / "study.toml").write_text(re.sub(r"(?m)^rivals = .*\n", "", toml), encoding="utf-8")
    text = writeup.verdict_text(writeup.WorkedOut(kit.study.load(copy), FEW))
    assert "No trial is on record." in text and "No alternative method was considered." in text


def test_trials_of_part_of_the_route_are_not_called_parts_made(worked):
    """A log without a file's stroke in it says nothing of filing, however well the rest went."""
    rows = tuple(row for row in worked.log.rows if row["operation"] in ("drill", "ream"))
    part = again(worked, log=dataclasses.replace(worked.log, rows=rows))
    assert "no counted trial includes turning, filing, lapping." in writeup.verdict_text(part)


def test_the_verdict_says_how_many_measurements_the_predictions_held(worked):
    held = worked.compared.attrs
    assert (f"Of {held['measurements']} measurements, {held['inside']} fell inside the predicted 90 % intervals" in writeup.verdict_text(worked)
            and f"({held['n']} draws, seed {held['seed']})" in writeup.methods_text(worked))


def test_the_methods_give_what_it_takes_to_do_it_again(worked):
    text, used = writeup.methods_text(worked), worked.register
    for told in (f"{len(used)} assumptions", f"{(used['grade'] == 'conjecture').sum()} conjecture", f"{(used['grade'] == 'recalled').sum()} recalled", f"{(used['grade'] == 'handbook').sum()} handbook", f"{DRAWS} times", "seed 1", kit.__version__, np.__version__,
                  worked.verdict.provenance["inputs"], "1 row used a modern tool or material", f"Each of {len(worked.verdict.chances)} criteria"):
        assert told in text, told


def test_a_probability_word_stands_alone_only_where_the_whole_band_has_it(worked):
    for ends, said in (((0.70, 0.85), "it is likely (chance"), ((0.20, 0.85), "it is from unlikely to likely (chance"), ((0.70, 0.95), "it is from likely to very likely (chance")):
        verdict = dataclasses.replace(worked.verdict, counts=worked.verdict.counts | {"all": int(0.75 * DRAWS)})
        verdict.__dict__.update(worlds=dataclasses.replace(worked.verdict.worlds, low=ends[0], high=ends[1]), ways=worked.verdict.ways)
        assert said in writeup.verdict_text(again(worked, verdict=verdict))


def test_the_methods_tell_how_steps_were_settled_what_is_carried_along_and_how_the_band_came_about(worked):
    text, used, band = writeup.methods_text(worked), worked.register, worked.verdict.worlds
    error = worked.study.register.loc["felt.error"]
    own, part = (used["each"] == 1).sum(), ((used["each"] > 0) & (used["each"] < 1)).sum()
    assert own and part and len(text.split("\n\n")) == 5
    for told in ("settled at the bench, by feel", f"a reserve of {words.exact(worked.study.workshop.reserve)}", words.ranged(error["low_5"], error["median"], error["high_95"]),
                 f"{own} of them drawn afresh for each tube and {part} in part", "oversize and roughness of the bore", "dulls by the length it cuts", "(wooden clamp, fitted; rosin with brick dust; strap, leather)",
                 f"shared part of {len(band.outer & set(used.index))} assumptions", band.told(), "makers learn and blanks come from one pour", "share an arm and a metal, so they are not independent"):
        assert told in text, told


def test_a_verdict_of_very_many_draws_is_settled_on_fewer(worked, monkeypatch):
    monkeypatch.setattr("kit.publish.worked_out.AT_THE_BENCH", 64)
    assert writeup.WorkedOut(worked.study, 64).at_the_bench.n == 64
    many = writeup.WorkedOut(worked.study, 128)
    assert many.at_the_bench.n == 64 and many.verdict.n == 128 and "(64 draws, seed 1)" in writeup.verdict_text(many)


def test_the_methods_tell_of_a_registration_and_of_a_change_since(copy):
    study = kit.study.load(copy)
    (copy / claims.REGISTRATION).write_text(claims.registration(study.assess(FEW), DAY), encoding="utf-8")
    told = f"registered 2026-01-02, before any trial was on record (digest {claims.plan_digest(study)})."
    assert told in writeup.methods_text(writeup.WorkedOut(study, FEW))
    (copy / claims.REGISTRATION).write_text(claims.registration(study.assess(FEW), DAY, writeup.WorkedOut(study).log), encoding="utf-8")
    assert told.replace("before any trial was on record", "when trials were on record already") in writeup.methods_text(writeup.WorkedOut(study, FEW))
    changed = study.with_(pulley="30 mm")
    assert "have changed since" in writeup.methods_text(writeup.WorkedOut(changed, FEW))


# --- what is in a bundle --------------------------------------------------------------------------------------------

def test_the_readme_the_crate_and_the_zip_list_what_is_there(made):
    there = set(digests(made))
    told = made.joinpath("README.txt").read_text(encoding="utf-8")
    for name in there - {"README.txt", "ro-crate-metadata.json"}:
        assert f"\n{name}\n" in told, name
    crate = json.loads((made / "ro-crate-metadata.json").read_text(encoding="utf-8"))
    assert {e["name"] and e["@id"] for e in crate["@graph"] if e["@type"] == "File"} == there - {"archive.zip", "ro-crate-metadata.json"}
    with zipfile.ZipFile(made / "archive.zip") as packed:
        assert set(packed.namelist()) == there - {"archive.zip"}


def test_every_figure_has_caption_words_and_the_data_that_drew_it(made, worked):
    for number, plate in enumerate(writeup.plates(worked), 1):
        stem = made / "figures" / f"figure-{number}-{plate.name}"
        assert f"Figure {number}. " in stem.with_suffix(".txt").read_text(encoding="utf-8")
        assert (made / "figures" / f"{stem.name}.alt.txt").read_text(encoding="utf-8").strip() == plate.alt
        data = rows(stem.with_suffix(".csv"))
        assert len(data) == len(plate.data) and all(data[0])
    told = (made / "figures" / "figure-1-verdict.txt").read_text(encoding="utf-8")
    assert f"{DRAWS} draws, seed 1" in told and "Of 8 trials, 5 succeeded" in told and "Invented study." in told


def test_figures_have_the_width_asked_for(made):
    from pypdf import PdfReader
    found = {path: float(PdfReader(path).pages[0].mediabox.width) / 72 * 25.4 for path in (made / "figures").glob("*-90mm.pdf")}
    assert len(found) >= 7
    for path, width in found.items():
        assert width == pytest.approx(90, abs=0.1), path.name


def test_tables_hold_every_row_in_three_forms(made, worked):
    for sheet in writeup.sheets(worked):
        data = rows(made / "tables" / f"{sheet.name}.csv")
        assert len(data) == len(sheet.frame), sheet.name
        lines = (made / "tables" / f"{sheet.name}.md").read_text(encoding="utf-8").splitlines()
        assert sum(line.startswith("|") for line in lines) == len(sheet.frame) + 2, sheet.name
        assert (made / "tables" / f"{sheet.name}.tex").read_text(encoding="utf-8").count(r"\\") >= len(sheet.frame)
    verdict = {(r["tube"], r["criterion"]): r for r in rows(made / "tables" / "verdict.csv")}
    for line in worked.verdict.lines:
        row = verdict[line.tube, line.criterion]
        assert float(row["chance"]) == pytest.approx(line.chance) and float(row["margin"]) == pytest.approx(np.median(line.margin), rel=1e-6)
    trials = rows(made / "tables" / "trials.csv")
    assert len(trials) == len(worked.log.rows) and {r["outcome"] for r in trials} == {"success", "partial", "fail"}
    assumptions = {r["key"]: r for r in rows(made / "tables" / "assumptions.csv")}
    assert set(assumptions) == worked.verdict.asked
    assert all(r["assumption"] == worked.study.labels[key] for key, r in assumptions.items())
    assert all(r["assumption"] == worked.study.labels.get(r["carried_by"], "") for r in verdict.values())
    assert assumptions["alloy.yield_strength"]["source"] == "Callister and Rethwisch 2008"
    assert all(r["grade"] in evidence.GRADES and r["source"] for r in assumptions.values())


def test_the_makers_tables_hold_every_step_and_tool_and_the_four_ways(made, worked):
    steps, bench = writeup.stock_plan(worked.study), rows(made / "tables" / "settled.csv")
    assert [(r["tube"], r["step"]) for r in bench] == list(zip(steps["tube"], steps["with"]))
    for row in bench:
        low, mid, high = (float(row[name]) for name in ("minutes_5", "minutes", "minutes_95"))
        assert 0 < low <= mid <= high and row["held_by"]
        if row["settles"]:
            assert float(row["low_5"]) <= float(row["median"]) <= float(row["high_95"]), row
    tools = rows(made / "tables" / "tools.csv")
    needed = {(s.tool.kind, round(s.diameter.m_as("mm"), 2)) for t in worked.study.tubes for s in worked.study.steps(t) if s.tool}
    assert {(r["tool"], float(r["diameter_mm"])) for r in tools} == needed
    ways = {r["way"]: float(r["chance"]) for r in rows(made / "tables" / "ways.csv")}
    assert set(ways) == set(instructions.WAYS) and ways["hindsight"] == max(ways.values())
    assert ways["feel"] == worked.verdict.chance


def test_the_verdicts_table_and_the_sweep_carry_the_band(made, worked):
    for row in rows(made / "tables" / "verdict.csv"):
        low, chance, high = (float(row[name]) for name in ("chance_world_5", "chance", "chance_world_95"))
        assert 0 <= low <= high <= 1 and low - 0.05 <= chance <= high + 0.05, row
    sweep = rows(made / "figures" / "figure-2-sweep.csv")
    assert all(0 <= float(row["all_5"]) <= float(row["all_95"]) <= 1 for row in sweep)
    planned = min(sweep, key=lambda row: abs(float(row["wall / mm"]) - worked.sweep.attrs["now"]))
    band = worked.verdict.worlds
    assert float(planned["all_5"]) == pytest.approx(band.low, abs=0.1) and float(planned["all_95"]) == pytest.approx(
        band.high, abs=0.15 + 3 * band.high_error)   # 32 worlds of 32 draws against a verdict's


def test_print_has_no_raw_names_of_columns_or_units(worked):
    for sheet in writeup.sheets(worked):
        for head in sheet.print_.columns:
            assert "_" not in head and not head.endswith(("um", "Nm")), (sheet.name, head)
        told = sheet.print_.to_string()
        assert "N*m" not in told and " um" not in told, sheet.name
        assert not [key for key in worked.study.keys if key in told], sheet.name


def test_print_does_not_round_what_is_planned_or_read(worked):
    """Bore 10.225 mm over a shaft of 10.2 mm: to three digits the clearance would be gone."""
    printed = {sheet.name: sheet.print_ for sheet in writeup.sheets(worked)}
    for tube, bore, outside in zip(worked.study.tubes, printed["sizes"]["bore, mm"], printed["sizes"]["outside, mm"]):
        assert float(bore) == pytest.approx(tube.bore.m_as("mm"), abs=5e-4) and float(outside) == pytest.approx(tube.outside.m_as("mm"), abs=5e-4)
    read = [row["measured_mm"] for row in worked.log.rows if row["measured_mm"] is not None]
    assert [float(v) for v in printed["trials"]["measured, mm"] if v] == read


@pytest.mark.parametrize("met, text", [(1024, ">0.99"), (1023, ">0.99"), (1019, ">0.99"), (1018, "0.99"), (512, "0.50"), (1, "<0.01"), (0, "<0.01")])
def test_a_printed_chance_is_never_one_or_nought(met, text, worked):
    """No number of draws can show that: in the table, the report and the sentence alike."""
    line = worked.verdict.lines[0]
    line = dataclasses.replace(line, margin=np.r_[np.full(met, 2.0), np.full(DRAWS - met, 0.5)])
    verdict = dataclasses.replace(worked.verdict, lines=(line,), counts={line.criterion: met, "all": met})
    verdict.__dict__.update(worlds=worked.verdict.worlds, ways=worked.verdict.ways)
    one = again(worked, verdict=verdict)
    [sheet] = [s for s in writeup.sheets(one) if s.name == "verdict"]
    assert sheet.print_["chance"].tolist() == [text] and sheet.frame["chance"].tolist() == [met / DRAWS]
    assert f"(chance {text}, {verdict.worlds.said}; in the probability words" in writeup.verdict_text(one)


def test_the_limiting_step_comes_with_the_draws_that_drew_it(worked):
    [plate] = [p for p in writeup.plates(worked) if p.name == "limiting-step"]
    line, data = worked.verdict.limiting_line, plate.data.set_index("share_below")
    for share in (0.05, 0.5, 0.95):
        for name, draws in (("asked", line.demand), ("given", line.capacity)):
            below = data.loc[share, name]
            assert np.mean(draws < below) - 0.01 <= share <= np.mean(draws <= below) + 0.01   # many draws may be the same


def test_assumptions_say_whether_the_study_gave_them(worked):
    [sheet] = [s for s in writeup.sheets(worked) if s.name == "assumptions"]
    sources = dict(zip(sheet.frame["key"], sheet.frame["source"]))
    assert {key for key, source in sources.items() if source.endswith("(study)")} == set(worked.study.rows) & worked.verdict.asked
    assert writeup.KITS in sources.values() and "assumption of this study" not in sources.values()


def test_deviations_come_from_the_record_and_the_log(made):
    found = rows(made / "tables" / "deviations.csv")
    log = (kit.tables.DATA / "harbour-dial" / "bench_log.csv").read_text(encoding="utf-8").splitlines()
    [line] = [n for n, row in enumerate(log, 1) if row.endswith(",yes,")]   # a modern tool in it
    assert [r["stands_in"] for r in found] == ["study.toml", f"bench_log.csv, line {line}"]


def test_the_stock_plan_joins_up(worked):
    plan = writeup.stock_plan(worked.study)
    for tube in worked.study.tubes:
        bores = plan[(plan.tube == tube.name) & plan.operation.isin(("drill", "ream"))]
        assert bores.after_mm.iloc[-1] == pytest.approx(tube.bore.m_as("mm"))
        assert (bores.before_mm.to_numpy()[1:] == bores.after_mm.to_numpy()[:-1]).all()
        assert bores.stock_um.to_numpy() == pytest.approx((bores.after_mm - bores.before_mm).to_numpy() * 1000, abs=1e-6)


def test_the_references_are_those_cited(made, worked):
    listed = (made / "text" / "references.md").read_text(encoding="utf-8").strip().split("\n\n")
    keys = [s for s in worked.cited if s not in evidence.PLAIN_SOURCES]
    assert len(listed) == len(keys) and any("Callister" in line for line in listed) and any("relief of two craftsmen" in line.lower() for line in listed)


def test_the_data_dictionary_fits_every_table(made):
    import frictionless
    found = frictionless.validate(str(made / "datapackage.json")).flatten(["name", "type", "note"])
    assert found == []
    described = {r["path"] for r in json.loads((made / "datapackage.json").read_text(encoding="utf-8"))["resources"]}
    assert described == {name for name in digests(made) if name.endswith(".csv")}


def test_the_citation_and_the_crate_are_valid(made):
    from rocrate.rocrate import ROCrate
    cited = yaml.safe_load((made / "CITATION.cff").read_text(encoding="utf-8"))
    jsonschema.validate({k: str(v) if isinstance(v, datetime.date) else v for k, v in cited.items()},
                        json.loads((SCHEMAS / "cff-1.2.0.json").read_text(encoding="utf-8")))
    crate = ROCrate(made)
    assert crate.root_dataset["datePublished"] == DAY.isoformat() and crate.root_dataset["license"]
    assert "not chosen" in str(crate.root_dataset["license"].properties())


def test_the_report_is_read_on_ten_pages_and_the_annex_holds_every_row(made, worked):
    from pypdf import PdfReader
    html = (made / "report.html").read_text(encoding="utf-8")
    report_, annex = (PdfReader(made / f"{name}.pdf") for name in ("report", "annex"))
    pages = [" ".join(page.extract_text().split()).replace("\u00a0", " ") for page in report_.pages]
    assert len(pages) <= 10 and min(map(len, pages[:-1])) > 300
    for told in ("Invented: no such part", f"Strength of the claim: {worked.strength.rung}", "What a reviewer will ask about", "Callister", "were they independent",
                 "Local rules and qualified supervision come first", worked.verdict.provenance["inputs"], f"All {len(worked.weak)} weak points"):
        assert told in html.replace("\u00a0", " ") and told in " ".join(pages), told
    text = "".join("".join(page.extract_text().split()) for page in annex.pages)
    for i, sheet in enumerate(writeup.sheets(worked), 1):
        assert f"TableA{i}." in text
        for cell in sheet.print_.iloc[:, 0]:
            assert "".join(cell.split()) in text, (sheet.name, cell)
    assert "drillbrokeinthebore" in text


def test_report_and_annex_show_every_figure_with_its_words(made, worked):
    import docx
    plates, alts = writeup.plates(worked), []
    for name in ("report", "annex"):
        html, word = (made / f"{name}.html").read_text(encoding="utf-8"), docx.Document(made / f"{name}.docx").element.xml
        found = [plate for plate in plates if f"{plate.caption[:40]}" in html]
        alts += [plate.name for plate in found]
        assert html.count("<img") == len(found) == len(re.findall("<pic:pic[ >]", word)) and all(f'descr="{plate.alt[:20]}' in word for plate in found)
        for path in re.findall(r"\{(figures/[^}]*)\}", (made / f"{name}.tex").read_text(encoding="utf-8")):
            assert (made / path).exists(), path
    assert sorted(alts) == sorted(plate.name for plate in plates)


def test_the_plan_for_the_bench_has_a_row_a_step_and_every_tubes_size(worked):
    from kit import short_tables
    table = short_tables.plan(worked, {"stock_plan": "A5", "settled": "A7"}).frame
    for tube in worked.study.tubes:
        sizes = [float(v) for v in table[f"{tube.name}, mm"] if v]
        assert sizes == pytest.approx([step.diameter.m_as("mm") for step in worked.study.steps(tube)], abs=1e-4)


def test_what_the_archive_is_found_by_is_the_studys_own(worked):
    strap = worked.study.with_(drive="strap lathe")
    assert "strap lathe" in writeup.keywords(strap) and "bow lathe" not in writeup.keywords(strap) and "lapping" in writeup.keywords(strap)


def test_what_is_out_of_range_is_told_with_the_criterion_that_it_limits(worked):
    assert worked.verdict.warnings and all(re.match("'[^']+' of [^:]+: the ", said) for said in worked.verdict.warnings)


def test_a_journals_own_style_and_document(made, copy, tmp_path):
    import docx
    from test_report import CSL
    (copy / "numbers.csl").write_text(CSL, encoding="utf-8")
    shutil.copy(made / "report.docx", copy / "journal.docx")
    toml = (copy / "study.toml").read_text(encoding="utf-8")
    (copy / "study.toml").write_text(toml.replace("[record]", '[record]\ncsl = "numbers.csl"\nreference_docx = "journal.docx"'), encoding="utf-8")
    mine = writeup.WorkedOut(kit.study.load(copy), DRAWS)
    assert mine.citing.style == copy / "numbers.csl" and "numbers.csl" in writeup.study_files(mine.study)
    assert re.search(r"\[\d+\]|\d+: ", report.markdown([report.References()], citing=mine.citing))
    docx.Document().save(copy / "plain.docx")
    (copy / "journal.docx").write_text("a letter", encoding="utf-8")
    with pytest.raises(ValueError, match="journal.docx is no DOCX document"):
        writeup.bundle(mine.study, tmp_path / "out", **LIGHT)
    (copy / "numbers.csl").write_text("a letter", encoding="utf-8")
    with pytest.raises(ValueError, match="numbers.csl is no citation style"):
        writeup.bundle(mine.study, tmp_path / "out", **LIGHT)
    (copy / "study.toml").write_text(toml.replace("[record]", '[record]\ncsl = "../numbers.csl"'), encoding="utf-8")
    with pytest.raises(ValueError, match="must be the name of a file in the study's folder"):
        writeup.bundle(kit.study.load(copy), tmp_path / "out", **LIGHT)


def test_no_file_names_a_folder_of_this_machine(made):
    for path in made.rglob("*"):
        if path.suffix in (".txt", ".md", ".csv", ".json", ".html", ".cff", ".tex"):
            text = path.read_text(encoding="utf-8")
            assert str(kit.study.DEMO) not in text and str(Path.home()) + os.sep not in text.replace("data:", ""), path.name


# --- same inputs, same bytes ----------------------------------------------------------------------------------------

CODE = """
import datetime, sys
from kit import study, writeup
made = writeup.bundle(study.load(sys.argv[1]), sys.argv[2], draws=2**10, widths=(90,), formats=("pdf", "svg"), date=datetime.date(2026, 1, 2))
print(made)
"""


@pytest.mark.long   # of a report alone in tests/test_report.py
def test_another_process_and_another_place_give_the_same_bytes(made, copy, tmp_path):
    done = subprocess.run([sys.executable, "-c", CODE, str(copy), str(tmp_path / "out")], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    other = Path(done.stdout.strip())
    assert other.name == made.name and digests(other) == digests(made)


def test_what_goes_in_decides_the_name(worked, copy, quick, tmp_path):
    study = kit.study.load(copy)
    same = writeup.bundle(study, tmp_path / "a", **LIGHT).name
    assert writeup.bundle(kit.study.load(copy), tmp_path / "b", **LIGHT).name == same
    others = {writeup.bundle(study.with_(wall="0.5 mm"), tmp_path, **LIGHT).name, writeup.bundle(study, tmp_path, **LIGHT | {"draws": 2**11}).name,
              writeup.bundle(study, tmp_path, seed=2, **LIGHT).name, writeup.bundle(study, tmp_path, **LIGHT | {"widths": (140,)}).name,
              writeup.bundle(study, tmp_path, only=("verdict",), **LIGHT).name}
    with open(copy / "bench_log.csv", "a", encoding="utf-8") as log:
        log.write("10,2026-07-01,hours,turn outside,turn,,A,,,,,,,,,,15.0,,,,,,,,success,,yes,,no,\n")
    others.add(writeup.bundle(kit.study.load(copy), tmp_path, **LIGHT).name)
    assert len(others | {same}) == 7


# --- whole or not at all --------------------------------------------------------------------------------------------

def test_a_bundle_that_is_there_is_left_as_it_is(made):
    before = digests(made), made.stat().st_mtime_ns
    assert writeup.bundle(kit.study.load(), made.parent, **LIGHT | {"date": None}) == made
    assert (digests(made), made.stat().st_mtime_ns) == before


@pytest.mark.parametrize("where, fault", [("report.pdf", OSError(errno.ENOSPC, "No space left on device")), ("archive.pack", OSError(errno.EACCES, "Permission denied")),
                                          ("page.printed", KeyboardInterrupt())])
def test_a_fault_in_the_middle_leaves_nothing(where, fault, monkeypatch, worked, tmp_path):
    def fails(*_, **__):
        raise fault

    module, name = where.split(".")
    if name == "pack":
        monkeypatch.setattr(writeup, "_fill", lambda folder, *rest: None)
    monkeypatch.setattr(f"kit.{module}.{name}", fails)
    monkeypatch.setattr(writeup, "document", lambda *_: [report.Heading("x")])
    monkeypatch.setattr(writeup, "annex", lambda *_: [report.Heading("x")])
    with pytest.raises(type(fault)):
        writeup.bundled(worked, tmp_path / "out", only=("part",), widths=(90,), formats=("pdf", "svg"), date=DAY)
    assert not (tmp_path / "out").exists()   # it was not there before


@pytest.mark.slow
@pytest.mark.long   # in short: test_killed.py
def test_killed_in_the_middle_it_is_absent_and_the_next_run_is_whole(made, copy, tmp_path):
    out = tmp_path / "out"
    running = subprocess.Popen([sys.executable, "-c", CODE, str(copy), str(out)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    for _ in range(1200):
        if list(out.glob(".kit-*/bundle/figures/*.pdf")):
            break
        time.sleep(0.05)
    running.send_signal(signal.SIGKILL)
    running.wait()
    assert list(out.glob(".kit-*")) and not [p for p in out.iterdir() if not p.name.startswith(".")]
    again = subprocess.run([sys.executable, "-c", CODE, str(copy), str(out)], capture_output=True, text=True, check=True)   # with all its worlds
    assert digests(Path(again.stdout.strip())) == digests(made)


def test_what_was_worked_out_is_used_until_a_file_of_the_study_changes(worked, copy, quick, monkeypatch, tmp_path):
    used = []
    monkeypatch.setattr(writeup, "plates", lambda worked: used.append(worked) or ())
    mine = again(worked, kit.study.load(copy))
    writeup.bundled(mine, tmp_path / "a")
    with open(copy / "bench_log.csv", "a", encoding="utf-8") as log:
        log.write("10,2026-07-01,hours,turn outside,turn,,A,,,,,,,,,,15.0,,,,,,,,success,,yes,,no,\n")
    writeup.bundled(mine, tmp_path / "b")
    assert used[0] is mine and len(used[1].log.rows) == len(worked.log.rows) + 1


def test_two_runs_at_once_into_one_folder(quick, monkeypatch, tmp_path):
    """The second finds the first's folder in place when it comes to rename its own: the first's stands."""
    def meanwhile(folder, *rest):
        monkeypatch.setattr(writeup, "_fill", lambda f, *r: (f / "README.txt").write_text("first"))
        writeup.bundle(kit.study.load(), tmp_path, **LIGHT)
        (folder / "README.txt").write_text("second")

    monkeypatch.setattr(writeup, "_fill", meanwhile)
    made = writeup.bundle(kit.study.load(), tmp_path, **LIGHT)
    assert (made / "README.txt").read_text() == "first"
    assert [p.name for p in tmp_path.iterdir()] == [made.name]


def test_a_file_where_the_folder_should_be_is_told_in_plain_words(tmp_path):
    (tmp_path / "out").write_text("a letter")
    done = subprocess.run([sys.executable, "-m", "kit", "writeup", str(kit.study.DEMO), "--out", str(tmp_path / "out"), "--draws", "256"],
                          capture_output=True, text=True, check=False)
    assert done.returncode == 2 and "Traceback" not in done.stderr and "out" in done.stderr and len(done.stderr.splitlines()) == 1
    assert (tmp_path / "out").read_text() == "a letter"


def test_a_missing_source_is_told_before_anything_is_written(copy, tmp_path):
    study = kit.study.load(copy)
    (copy / "sources.bib").write_text("", encoding="utf-8")   # gone since it was loaded
    with pytest.raises(TableError, match="invented_relief"):
        writeup.bundle(study, tmp_path / "out", **LIGHT)
    assert not (tmp_path / "out").exists() or not list((tmp_path / "out").iterdir())


@pytest.mark.parametrize("wrong, said", [({"formats": ("pfd",)}, "no format 'pfd'; did you mean 'pdf'"), ({"only": ("verdikt",)}, "did you mean 'verdict'"),
                                         ({"widths": (300,)}, "190.5")])
def test_what_cannot_be_had_is_refused(wrong, said, tmp_path):
    with pytest.raises(ValueError, match=re.escape(said)):
        writeup.bundle(kit.study.load(), tmp_path / "out", **LIGHT | wrong)
    assert not (tmp_path / "out").exists() or not list((tmp_path / "out").iterdir())


# --- the author's own words -----------------------------------------------------------------------------------------

def test_own_words_stand_in_place_of_the_generated_ones(worked, copy):
    study = kit.study.load(copy)
    path = writeup.reword(study, **{"verdict": 'My own: "likely",\nback\\slash and """quotes""".', "caption verdict": "Figure of margins."})
    mine = again(worked, study)
    assert mine.worded("verdict", "generated") == 'My own: "likely",\nback\\slash and """quotes""".'
    assert next(p for p in writeup.plates(mine) if p.name == "verdict").caption == "Figure of margins."
    with pytest.raises(FileExistsError, match="overwrite=True"):
        writeup.reword(study, verdict="Others.")
    assert writeup.reword(study, overwrite=True, verdict="") == path
    assert writeup.WorkedOut(study, DRAWS).worded("verdict", "generated") == "generated"


def test_own_words_stand_in_every_format(worked):
    from pypdf import PdfReader
    one = worked.with_words({"verdict": "My very own words."})
    blocks = writeup.document(one, (), writeup.sheets(one))
    for end in report.FORMATS:
        made = report.written(end, blocks, "t", citing=one.citing)
        if end == "pdf":
            made = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(made)).pages).encode()
        elif end in ("docx", "odt"):
            with zipfile.ZipFile(io.BytesIO(made)) as packed:
                made = packed.read("word/document.xml" if end == "docx" else "content.xml")
        text = " ".join(re.sub(r"<[^>]*>", " ", made.decode()).split())
        assert "My very own words." in text and "With the tools and choices listed" not in text, end


def test_a_change_of_the_numbers_behind_own_words_is_told(copy):
    study = kit.study.load(copy)
    writeup.reword(study, verdict="My own.")
    assert writeup.WorkedOut(study).outdated == [] and writeup.WorkedOut(study.with_(wall="0.2 mm")).outdated == ["verdict"]
    with open(copy / "bench_log.csv", "a", encoding="utf-8") as log:
        log.write("10,2026-07-01,hours,turn outside,turn,,A,,,,,,,,,,15.0,,,,,,,,success,,yes,,no,\n")
    assert writeup.WorkedOut(kit.study.load(copy)).outdated == ["verdict"]


def test_own_words_that_cannot_be_read_are_told(worked, copy, tmp_path):
    (copy / writeup.WORDING).write_text("verdict = oh", encoding="utf-8")
    with pytest.raises(StudyError, match=r"wording\.toml: not readable as TOML"):
        writeup.plates(again(worked, kit.study.load(copy)))
    with pytest.raises(StudyError, match=r"wording\.toml: not readable as TOML"):   # and before the work, not after
        writeup.bundle(kit.study.load(copy), tmp_path / "out", **LIGHT)
    assert not (tmp_path / "out").exists()


# --- other studies --------------------------------------------------------------------------------------------------

@pytest.mark.slow
@pytest.mark.parametrize("answers", [pytest.param({"title": "A tube", "lengths": "40 mm"}, marks=pytest.mark.long), {"title": "Été: 50 % \\ \"x\"", "barrel": "20 mm"}])
def test_a_new_study_is_written_up_as_it_is(answers, tmp_path):
    from kit import newstudy
    study = kit.study.load(newstudy.new(tmp_path / "mine", **answers))
    made = writeup.bundle(study, tmp_path / "out", only=("verdict",), **LIGHT | {"draws": FEW})
    told = (made / "README.txt").read_text(encoding="utf-8")
    assert "No trial is on record." in told and answers["title"] in told and "invented" not in told.lower()


def test_labels_of_sources_are_those_of_the_list(worked):
    assert worked.cited["callister_2008"] == references.citations(["callister_2008"], *worked.sources)["callister_2008"]
    assert figures.WIDTHS["single"] in writeup.WIDTHS
