"""A study as the user works with it: loaded from a folder, and all that it can do."""
import os
import warnings

from kit.base import tables
from kit.study import (critical, design, factors, judge, next_trials, reach, rivals, sensitivity,
                       studyfile, tomlreading)
from kit.study.plan import Plan
from kit.study.studyfile import StudyError

DEMO = tables.DATA / "harbour-dial"   # invented


class Study(Plan):
    """A study as loaded: `with_` makes a variant, `assess` judges it, `sweep` and the others ask for more."""

    assess = judge.assess
    sweep = design.sweep
    sweep_over = design.sweep_over
    map = design.map
    threshold = design.threshold
    thresholds = design.thresholds
    sensitivity = sensitivity.sensitivity
    critical = critical.critical
    reach = reach.reach
    next_trials = next_trials.next_trials
    design = factors.design   # last: it hides the module of that name

    def checks(self):
        yield from super().checks()
        yield [self._no_rival_of_its_own]

    def _no_rival_of_its_own(self):
        own = rivals.own_route(self)
        if own in self.record.get("rivals", ()):
            place = tomlreading.place(self.folder, "rivals", "record")
            raise StudyError(f"{place}, [record]: {own!r} is how this study makes most of its tubes, and so no rival; "
                             f"name another way, or say in 'own_route' what its own is called")

    @property
    def is_demo(self):
        """Whether it is the invented demo, on which the assertions of the notebooks are made."""
        return self.folder.resolve() == DEMO.resolve()


def load(folder=None, needs=()):
    """Study from a folder: study.toml, and where it is there assumptions.csv with the sources.bib that it cites.

    folder: the study's; where None, the one that the environment variable KIT_STUDY names, else the invented demo.
    needs: words of HAS, the subjects of whoever asks; where the study lacks one, a warning says so and the demo is
    loaded instead.
    Raises StudyError or tables.TableError, each with file, line or table, and the remedy. See `faults` for all at once.
    """
    study = Study(**vars(studyfile.read(folder or os.environ.get("KIT_STUDY") or DEMO)))
    for stage in study.checks():
        for check in stage:
            check()
    lacking = [what for what in needs if not HAS[what](study)]
    if lacking and not study.is_demo:
        warnings.warn(f"this is about {' and '.join(lacking)}, which {study.title!r} does not have: what follows shows "
                      f"the invented demo instead", stacklevel=2)
        return load(DEMO)
    return study


def _logged(study):
    """Whether a trial is on record: a line below the header."""
    path = study.folder / "bench_log.csv"
    return path.is_file() and len(path.read_text(encoding="utf-8-sig", errors="replace").split()) > 1


HAS = {"sleeves": lambda study: any(t.position is not None for t in study.tubes),
       "nested sleeves": lambda study: sum(t.position is not None for t in study.tubes) > 1,
       "a nest that turns": lambda study: "running" in studyfile.wanted(study.use or {}, study.part)
       and sum(t.position is not None for t in study.tubes) > 1,
       "a plunger": lambda study: any(t.plunger and not t.packing for t in study.tubes)
       and (study.use is None or "plunger: hold" in studyfile.wanted(study.use, study.part)),
       "the use of the part": lambda study: study.use is not None,
       "lapping": lambda study: not study.tubes[0].packing and any(s.operation == "lap"
                                                                   for s in study.steps(study.tubes[0])),
       "a bench log": _logged}


def faults(folder):
    """Everything that keeps a study folder from loading, as a list of lines: file, place, what is wrong, how to mend
    it.

    Later checks wait until earlier ones find nothing: what cannot be read cannot be judged.
    """
    found = []
    written = studyfile.read(folder, found)
    if written is not None:
        read = Study(**vars(written))
        stages = [read.words(), read.own_rows()] if found else read.checks()   # what is there, if incomplete
        for stage in stages:
            before = len(found)
            for check in stage:
                try:
                    check()
                except (StudyError, tables.TableError) as error:
                    found.append(str(error))
            if len(found) > before:
                break
    return list(dict.fromkeys(found))
