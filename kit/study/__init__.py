"""One study and what is asked of it: read and checked, judged, swept, taught by a bench log.

    study = kit.study.load("data/harbour-dial")
    verdict = study.assess()
    verdict.words, verdict.table
"""
import importlib

# what `kit.study` offers, and the file of this room that has it
OFFERS = {"load": "study", "faults": "study", "Study": "study", "DEMO": "study", "HAS": "study",
          "StudyError": "studyfile", "Tube": "plan", "Workshop": "plan", "EVERY": "outcomes"}


def __getattr__(name):
    if name in OFFERS:
        return getattr(importlib.import_module(f"{__name__}.{OFFERS[name]}"), name)
    raise AttributeError(f"kit.study has no {name!r}; it has {', '.join(OFFERS)}")


def __dir__():
    return sorted(OFFERS)
