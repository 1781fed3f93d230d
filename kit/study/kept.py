"""What was worked out at length about a study, kept in its folder for its write-up, as long as the study stays."""
import json

from kit.base import files
from kit.study.studyfile import StudyError

NAMES = ("reach", "next_trials")   # of the files, each with .json


def keep(plan, name, table):
    """Put a table of `reach` or `next_trials` into the study's folder as NAME.json, in place of an earlier one of the
    kit's; its path. Raises StudyError for a file of that name that the kit has not written."""
    path = plan.folder / f"{name}.json"
    if path.exists() and _read(path) is None:
        raise StudyError(f"{path}: there is a file of that name that the kit has not written; give it another name")
    held = {"kit": name, "inputs": plan.provenance(1, 1)["inputs"], "attrs": table.attrs,
            "columns": list(table.columns), "rows": table.to_dict("records")}
    return files.put(path, json.dumps(held, indent=1, ensure_ascii=False, default=_plain) + "\n")


def kept(plan, name):
    """The table that was kept, with its attrs; None where there is none, or the study has changed since."""
    import pandas as pd
    held = _read(plan.folder / f"{name}.json")
    if held is None or held["inputs"] != plan.provenance(1, 1)["inputs"]:
        return None
    table = pd.DataFrame(held["rows"], columns=held["columns"])
    table.attrs = held["attrs"]
    return table


def _read(path):
    try:
        held = json.loads(path.read_text(encoding="utf-8"))
    except (FileNotFoundError, ValueError, OSError):
        return None
    return held if isinstance(held, dict) and {"kit", "inputs", "attrs", "columns", "rows"} <= set(held) else None


def _plain(value):
    """What JSON has no sign for: a number of numpy's as its own, anything else as text."""
    return value.item() if hasattr(value, "item") else str(value)
