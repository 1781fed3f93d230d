"""Ancient-method feasibility: demand against capacity for fine metal tubes, sleeves and pistons.

Importing the package loads nothing heavy; each module is imported when it is first named:

>>> import kit
>>> kit.cutting.turning_force(depth="0.1 mm", feed="0.05 mm", kc11="1000 MPa", exponent=0.2).m_as("N").round(2)
np.float64(9.1)
"""
import importlib

__version__ = "0.1.0"

MODULES = ("units", "tables", "evidence", "fits", "cutting", "bow", "lapping", "walls", "sleeves", "pistons", "gauging",
           "trials", "references", "tabular", "uncertainty", "criteria", "routes", "use", "verdict", "studyfile", "study", "bench", "page", "claims", "answers", "groupfile", "session", "figures",
           "widgets", "report", "archive", "newstudy", "writeup", "nomogram", "handouts", "forms", "proofs")
FROM_UNITS = ("Q", "ureg", "OutOfRange")

__all__ = [*MODULES, *FROM_UNITS]


def __getattr__(name):
    if name in MODULES:
        return importlib.import_module(f"{__name__}.{name}")
    if name in FROM_UNITS:
        return getattr(importlib.import_module(f"{__name__}.units"), name)
    raise AttributeError(f"kit has no {name!r}; it has {', '.join(__all__)}")


def __dir__():
    return sorted([*__all__, "__version__"])
