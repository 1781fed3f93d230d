"""Commands about the bench: what to change in a plan, what to measure next, and readings typed in as they come."""
import argparse
import datetime
import sys
import time
from pathlib import Path

from kit.base import words


def share(text):
    """A chance between 0 and 1."""
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0 < value < 1:
        raise argparse.ArgumentTypeError(f"expected a chance between 0 and 1 like 0.66, got {text!r}")
    return value


def day(text):
    """A day of the calendar."""
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"expected a day written yyyy-mm-dd, got {text!r}") from None


def progress_told(what, clock=time.monotonic):
    """A function (done, total) that says on a terminal, now and then, how far a long search is, and how long it will
    take yet at the pace so far. clock: seconds; the pace is this machine's, so none is promised before."""
    told, began = [-1], clock()

    def progress(done, total):
        if done > 1 and done * 10 // total > told[0]:
            told[0] = done * 10 // total
            print(f"{done} of about {total} {what}, {_left(total - done, (clock() - began) / done)}; "
                  "Ctrl-C stops, and leaves nothing", file=sys.stderr)

    return progress


def _left(number, seconds):
    """How long so many take, at so many seconds each, in words."""
    whole = number * seconds
    return f"about {words.exact(round(whole / 60))} min left" if whole >= 90 else \
        f"about {words.exact(max(10, round(whole, -1)))} s left" if whole >= 10 else "some seconds left"


def reach(given):
    """Say what to change in the plan so that the chance reaches a level, and what each change costs.

    Each choice alone, the cheapest pair, and the best plan found within bounds. It judges some hundred plans,
    and says as it goes how long it will take yet. --only looks at some choices.
    """
    from kit import study
    from kit.publish.tabular import lined_up
    from kit.study import choices, kept, reach as asked
    loaded = study.load(given.folder)
    if given.list:
        for choice in choices.choices(loaded):
            bounds = ", ".join(map(str, choice.options)) if choice.options else \
                f"{choice.said(choice.low)} to {choice.said(choice.high)}"
            print(f"- {choice.key}: {choice.label}, now {choice.now}; {bounds}")
        return
    table = loaded.reach(given.chance, choices=given.only or None, draws=given.draws, seed=given.seed,
                         pairs=not given.quick, best=not given.quick, progress=progress_told("plans judged"))
    print(lined_up(asked.for_reading(table), widest={"change": 60}))
    print(f"\n{table.attrs['said']}")
    if given.keep:
        print(f"{kept.keep(loaded, 'reach', table)}: kept; the write-up shows it as long as the study stays as it is")


def reach_flags(parser, folder, whole, from_nought):
    parser.add_argument("folder", type=folder, metavar="FOLDER", help="the study's folder")
    parser.add_argument("--chance", type=share, default=0.66, metavar="P", help="wanted (default 0.66, likely)")
    parser.add_argument("--only", action="append", metavar="CHOICE", help="look at this choice alone; again for more")
    parser.add_argument("--list", action="store_true", help="only list the choices, and their bounds")
    parser.add_argument("--quick", action="store_true", help="each choice alone, no pairs and no best plan")
    parser.add_argument("--keep", action="store_true", help="keep the result in the study's folder, for the write-up")
    parser.add_argument("--draws", type=whole, default=2**10, metavar="N", help="on which plans are compared (default "
                        "1024)")
    parser.add_argument("--seed", type=from_nought, default=1, metavar="S", help="whole number (default 1)")


def next_trials(given):
    """Say which measurement would settle most: how much n readings would narrow the verdict, and in how many hours."""
    from kit import study
    from kit.publish.tabular import lined_up
    from kit.study import kept, next_trials as asked
    loaded = study.load(given.folder)
    table = loaded.next_trials(given.hours, tuple(given.readings or asked.READINGS), seed=given.seed)
    shown = table if given.all else table[table["rank"].notna()]
    if len(shown):
        print(lined_up(asked.for_reading(shown), widest={"measurement": 60}))
    print(f"\n{table.attrs['said']}")
    for title, why in table.attrs["teach_nothing"].items():
        print(f"- {title}: {why}")
    if given.keep:
        print(f"{kept.keep(loaded, 'next_trials', table)}: kept; the write-up shows it as long as the study stays as "
              "it is")


def next_trials_flags(parser, folder, whole, from_nought):
    parser.add_argument("folder", type=folder, metavar="FOLDER", help="the study's folder")
    parser.add_argument("--hours", type=hours, metavar="H", help="at most so many hours for one measurement")
    parser.add_argument("--readings", type=whole, action="append", metavar="N", help="number of readings looked at, "
                        "again for more (default: 3, 6 and 12)")
    parser.add_argument("--all", action="store_true", help="also print what cannot be shown to narrow anything")
    parser.add_argument("--keep", action="store_true", help="keep the result in the study's folder, for the write-up")
    parser.add_argument("--seed", type=from_nought, default=1, metavar="S", help="whole number (default 1)")


def hours(text):
    """Hours above 0."""
    try:
        value = float(text.removesuffix("h").strip())
    except ValueError:
        value = 0.0
    if not 0 < value < 1e6:
        raise argparse.ArgumentTypeError(f"expected hours like 4, got {text!r}")
    return value


def protocols(given):
    """Write a sheet for each measurement that nobody has printed: what is needed, a drawing, steps, lines to fill."""
    from kit.workshop import protocol_sheets
    print("\n".join(map(str, protocol_sheets.write(given.out, given.only or (), given.overwrite))))


def protocols_flags(parser, folder, whole, from_nought):
    parser.add_argument("--out", type=folder, required=True, metavar="DIR", help="folder for the sheets")
    parser.add_argument("--only", action="append", metavar="NAME", help="this protocol alone; again for more")
    parser.add_argument("--overwrite", action="store_true", help="in place of sheets that are there already")


def log(given):
    """Enter a row of the bench log in a line, list the steps with what is expected, undo the last row, print a sheet.

    Rows go into bench_log.csv of the study's folder; of the demo, whose log stays as it is, into out/bench_log.csv.
    Readings are NAME=VALUE, numbers as people type them: --read minutes=3.7 strokes=181 "torque_Nm=210 N·mm".
    """
    from kit import study
    from kit.base import files, tables, words
    from kit.workshop import benchlog
    loaded = study.load(given.folder)
    file = benchlog.BenchFile.of(loaded)
    if given.undo:
        who, row = file.undo(given.operator)
        print(f"{file.path}: undone, a row of {who}, and kept in {file.undone.name}: {row}")
        return
    if given.sheet:
        if given.sheet.exists():
            raise FileExistsError(f"{given.sheet} is there already; give another name")
        print(files.put(given.sheet, benchlog.sheet(loaded, given.tube and [given.tube]), new=True))
        return
    found = benchlog.steps(loaded)
    if given.tube and given.tube not in {step.tube for step in found}:
        raise ValueError(f"there is no tube {given.tube!r}; {tables.nearest(given.tube, {s.tube for s in found})}")
    mine = [step for step in found if given.tube in (None, step.tube)]
    if given.step is None:
        if given.read:
            raise ValueError(f"--read {given.read[0]}: of which step? Give --tube and --step; without --read the steps "
                             "are listed")
        print(f"Expected: median (5 % to 95 %), at the feed or pressure settled by feel; in the table of an assessment "
              f"stands the one with the most to spare; {words.draws(benchlog.DRAWS, benchlog.SEED)}\n")
        for step in mine:
            expected = [f"{benchlog.label(c)} {step.expects(c)}" for c in step.columns if step.expects(c)]
            print(f"{step.said}: {'; '.join(expected) or ', '.join(map(benchlog.label, step.columns))}")
        return
    if given.tube is None:
        raise ValueError(f"which tube? Give --tube, one of {', '.join(dict.fromkeys(s.tube for s in found))}")
    step = next((s for s in mine if str(s.number or "test") == given.step), None)
    if step is None:
        raise ValueError(f"--step {given.step}: {given.tube!r} has steps 1 to {mine[-2].number}, and test")
    typed = {}
    for reading in given.read:
        name, mark, value = reading.partition("=")
        if not mark:
            raise ValueError(f"{reading!r}: expected NAME=VALUE, such as minutes=3.7")
        typed[name.strip()] = value
    if not any(value.strip() for value in typed.values()) and given.outcome is None:
        raise ValueError("nothing is read; give --read NAME=VALUE, of "
                         f"{', '.join(step.columns)}, or say by --outcome how it went without a reading")
    row, _ = file.add(step, typed, given.operator, given.outcome or "success", given.trial, given.date,
                      given.failure or "", given.not_counted or "", given.substitute, given.remark or "")
    said = "; ".join(f"{name} {value}" for name, value in row.items() if value not in ("", None))
    print(f"{file.path}: added. {said}")


def pdf_file(text):
    """The path of a PDF that is to be written."""
    path = Path(text)
    if path.suffix.lower() != ".pdf":
        raise argparse.ArgumentTypeError(f"expected the name of a PDF like sheet.pdf, got {text!r}")
    return path


def log_flags(parser, folder, whole, from_nought):
    parser.add_argument("folder", type=folder, metavar="FOLDER", help="the study's folder")
    parser.add_argument("--read", nargs="+", action="extend", default=[], metavar="NAME=VALUE",
                        help="readings, by the columns of the log")
    parser.add_argument("--tube", metavar="NAME", help="of the study")
    parser.add_argument("--step", metavar="N", help="number of the step in its route, or test; without it the steps "
                        "are listed")
    parser.add_argument("--operator", metavar="WHO", help="who did it, or a code; with --undo: whose last row")
    parser.add_argument("--outcome", metavar="WORD", help="success, partial or fail (default success, "
                        "where something is read)")
    parser.add_argument("--failure", metavar="WORDS", help="of what kind: stalled, tool broke, ...")
    parser.add_argument("--trial", type=whole, metavar="N", help="number of the trial (default: found)")
    parser.add_argument("--date", type=day, metavar="YYYY-MM-DD", help="default: today")
    parser.add_argument("--not-counted", metavar="WHY", help="why the row is not to count")
    parser.add_argument("--substitute", action="store_true", help="a modern tool or material was in it")
    parser.add_argument("--remark", metavar="WORDS", help="surprises, what was expected, who helped")
    other = parser.add_mutually_exclusive_group()
    other.add_argument("--undo", action="store_true", help="take the last row away; it is kept in a file beside")
    other.add_argument("--sheet", type=pdf_file, metavar="FILE.pdf", help="print a sheet filled in from the route")
