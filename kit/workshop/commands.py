"""Commands about the bench: what to change in a plan, what to measure next, and readings typed in as they come."""
import argparse
import sys


def share(text):
    """A chance between 0 and 1."""
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0 < value < 1:
        raise argparse.ArgumentTypeError(f"expected a chance between 0 and 1 like 0.66, got {text!r}")
    return value


def progress_told(what):
    """A function (done, total) that says on a terminal, now and then, how far a long search is."""
    told = [-1]

    def progress(done, total):
        if done > 1 and done * 10 // total > told[0]:
            told[0] = done * 10 // total
            print(f"{done} of about {total} {what}; Ctrl-C stops, and leaves nothing", file=sys.stderr)

    return progress


def reach(given):
    """Say what to change in the plan so that the chance reaches a level, and what each change costs.

    Each choice alone, the cheapest pair, and the best plan found within bounds; it takes some minutes. --only looks at
    some choices.
    """
    from kit import study
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
    _table(asked.for_reading(table))
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


def _table(frame):
    from tabulate import tabulate
    print(tabulate(frame, headers="keys", showindex=False, disable_numparse=True,
                   maxcolwidths=[60 if name in ("change", "measurement") else None for name in frame]))


def next_trials(given):
    """Say which measurement would settle most: how much n readings would narrow the verdict, and in how many hours."""
    from kit import study
    from kit.study import kept, next_trials as asked
    loaded = study.load(given.folder)
    table = loaded.next_trials(given.hours, tuple(given.readings or asked.READINGS), seed=given.seed)
    shown = table if given.all else table[table["rank"].notna()]
    if len(shown):
        _table(asked.for_reading(shown))
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
