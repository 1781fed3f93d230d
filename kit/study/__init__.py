"""One study and what is asked of it: read and checked, judged, swept, taught by a bench log.

    study = kit.study.load("data/harbour-dial")
    verdict = study.assess()
    verdict.words, verdict.table
"""
import importlib

_OFFERS = ("load", "faults", "Study", "StudyError", "Tube", "Workshop", "DEMO", "HAS", "EVERY", "CHUNK", "Noting")


def __getattr__(name):
    if name in _OFFERS:
        return getattr(importlib.import_module(f"{__name__}.study"), name)
    raise AttributeError(f"kit.study has no {name!r}; it has {', '.join(_OFFERS)}")


def __dir__():
    return sorted(_OFFERS)
