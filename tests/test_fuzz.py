"""A study folder with slips in it: whatever is written there, `check` tells it in plain words, in time, and nothing breaks.

KIT_FUZZ sets how many folders are tried (thousands by hand, a few here); KIT_FUZZ_SEED where they begin.
"""
import contextlib
import io
import os
import random
import re
import shutil
import signal
import warnings

import pytest

from kit import __main__ as command
from kit import study

CASES, SEED = int(os.environ.get("KIT_FUZZ", 60)), int(os.environ.get("KIT_FUZZ_SEED", 0))
FILES = ("study.toml", "assumptions.csv", "bench_log.csv", "sources.bib", "datapackage.json")
ODD = ("", "0", "-1", "1e999", "nan", "9" * 400, "5 mm?", "8 mm^9^9^9", "MPa**10**10**10", "5 mm # 3", "true", "[]", "{}", '""', "'", "[[", "]", "=", ",", ";", "\t",
       "\u202e", "é", "½", "1.500", "5,5", "0.5 um", "1e12 mm", "-40 mm", "3 N", "=HYPERLINK(1)", "<script>x</script>", "\\u0000", "2026-02-30", "@", "inf mm",
       "[" * 300, '"""', "x" * 5000, "../../etc", "each", "fixed", "half-round bit", "lap", "bore", "outside - 9 mm", "1 turn", "99999", "0.0001 mm")
# what only a programmer would say
RAW = re.compile(r"Traceback|Errno|object at 0x|NoneType|unsupported operand|KeyError|invalid literal|<Quantity|codec can't|list index|has no attribute|unhashable|"
                 r"not supported between|positional argument|unexpected keyword|Unit\(|dtype|np\.float|Expecting value")


def slip(text, rng):
    """The text with one slip of a kind that hands make."""
    lines = text.split("\n")
    at, kind = rng.randrange(len(lines)), rng.randrange(9)
    if kind == 0:
        del lines[at]
    elif kind == 1:
        lines.insert(at, lines[at])
    elif kind == 2:
        lines.insert(at, rng.choice(ODD))
    elif kind == 3:   # another value
        key, mark, _ = lines[at].partition("=")
        lines[at] = f"{key}{mark} {rng.choice([rng.choice(ODD), chr(34) + rng.choice(ODD) + chr(34)])}" if mark else rng.choice(ODD)
    elif kind == 4:   # another cell
        cells = lines[at].split(",")
        cells[rng.randrange(len(cells))] = rng.choice(ODD)
        lines[at] = ",".join(cells)
    elif kind == 5:
        lines[at] = "".join(c for c in lines[at] if rng.random() > 0.1)
    elif kind == 6:
        other = rng.randrange(len(lines))
        lines[at], lines[other] = lines[other], lines[at]
    elif kind == 7:
        lines = lines[:at]
    else:
        lines[at] = re.sub(r"\d+(\.\d+)?", lambda _: rng.choice(ODD), lines[at], count=1)
    return "\n".join(lines)


def spoilt(folder, rng):
    shutil.copytree(study.DEMO, folder)
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        path = folder / rng.choice(FILES[:1] * 4 + FILES)
        if not path.is_file():
            continue
        how = rng.random()
        if how < 0.02:
            path.write_bytes(path.read_bytes()[:rng.randrange(2000)] + b"\xff\xfe\x00")
        elif how < 0.04:
            path.unlink()
            path.mkdir()
        elif how < 0.05:
            path.unlink()
        else:
            path.write_text(slip(path.read_text(encoding="utf-8", errors="replace"), rng), encoding="utf-8")


def said_of(folder):
    """(exit status, all that `check` prints) of a folder; a hang ends in a failure, not in a night."""
    out = io.StringIO()

    def hangs(*_):
        raise AssertionError(f"check hangs on {folder}")

    signal.signal(signal.SIGALRM, hangs)
    signal.alarm(60)
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out), warnings.catch_warnings():
            warnings.simplefilter("ignore")
            status = command.main(["check", str(folder), "--draws", "16"])
    finally:
        signal.alarm(0)
    return status, out.getvalue()


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(signal, "SIGALRM"), reason="no alarm clock on this system")
@pytest.mark.parametrize("part", range(6))
def test_whatever_is_written_in_a_study_folder_is_told_in_plain_words(part, tmp_path):
    wrong = []
    for number in range(part, CASES, 6):
        folder = tmp_path / "study"
        spoilt(folder, random.Random(f"{SEED}:{number}"))
        try:
            status, text = said_of(folder)
        except Exception as error:   # noqa: BLE001 (whatever it is, it is a fault of the kit)
            wrong.append(f"{number}: {type(error).__name__}: {str(error)[:200]}")
        else:
            raw = RAW.search(text.replace(str(tmp_path), ""))
            if status not in (0, 2) or raw or not text.strip():
                wrong.append(f"{number}: status {status}, {raw and text[max(0, raw.start() - 150):raw.end() + 60]!r}")
            if status == 2 and max(map(len, text.splitlines())) > 1500:
                wrong.append(f"{number}: a line of {max(map(len, text.splitlines()))} characters")
        shutil.rmtree(folder)
    assert not wrong, "\n".join(wrong)
