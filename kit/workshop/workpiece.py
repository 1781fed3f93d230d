"""The piece that a session makes: its study, which of a study's tubes the session is about, and its tools."""
from kit import study as studies
from kit.base import tables

PIECE = tables.DATA / "workshop-piece"   # invented, as an exercise


def reamed_and_lapped(study):
    """Tubes of a study that are both reamed and lapped: {name: tube}."""
    return {t.name: t for t in study.tubes if {"ream", "lap"} <= {s.operation for s in study.steps(t)}}


def tube_of(study):
    """The tube that a session is about: the first that is reamed and lapped, else the first."""
    return next(iter(reamed_and_lapped(study).values()), study.tubes[0])


def study_of(study=None, live_lathe=True):
    """The study of a session: as given, or read from its folder; where None the workshop piece, else the demo.

    live_lathe: where False, the study takes its route 'by hand', if it has one.
    """
    if study is None:
        study = studies.load(PIECE if PIECE.exists() else studies.DEMO)
    elif not isinstance(study, studies.Study):
        study = studies.load(study)
    if not live_lathe and "by hand" in study.routes:
        study = study.with_(**{f"{tube_of(study).name}.route": "by hand", "order": "outside first"})
    return study


def tool_of(step):
    """What does the work in a step of the route, by the study's own name for it: tool, grain, or 'turning tool'."""
    if step.operation in ("turn", "file"):
        return {"turn": "turning tool", "file": "file"}[step.operation]
    return step.name.rpartition(" to ")[0] or step.name


def title_of(study):
    """Its title for the foot of a sheet; an invented study says so."""
    return f"{study.title}{' (invented)' if study.invented else ''}"
