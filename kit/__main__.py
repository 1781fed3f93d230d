"""The kit at the command line: python -m kit new, check, assess, register, writeup, open, ...; -h after one says more.

Exit status: 0 when done, whatever the verdict; 2 where something given cannot be used, which is told in plain words.
"""
import argparse
import codecs
import dataclasses
import errno
import os
import re
import reprlib
import signal
import sys
import time
import unicodedata
from pathlib import Path

from kit.workshop import commands as bench_commands

LONG_RUN = 2**20   # draws, beyond which the time it takes is told first


def main(words=None):
    """Run one command; its exit status."""
    try:
        return _run(words)
    except (KeyboardInterrupt, EOFError):   # EOFError: the interview's answers came to an end
        print("stopped by hand; nothing half-written is left", file=sys.stderr)
        return 130


def _run(words):
    parser = argparse.ArgumentParser(
        prog="python -m kit",
        description="Could that workshop have made this part? A study folder, from the command line.")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name, (function, add) in COMMANDS.items():
        each = commands.add_parser(name, help=function.__doc__.split("\n\n")[0], description=function.__doc__)
        add(each)
        each.set_defaults(run=function)
    given = parser.parse_args(words)
    from kit.study.bench import BenchError
    from kit.study.studyfile import StudyError
    from kit.base.tables import TableError
    try:
        return given.run(given) or 0
    except BrokenPipeError:   # whoever reads the output has seen enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except (StudyError, TableError, BenchError, ValueError, TypeError, OSError) as fault:
        print(f"{_said(fault)}", file=sys.stderr)
        return 2


def _said(fault):
    """An error as a sentence: the system's own name only the number and the file."""
    from kit.base import files
    if isinstance(fault, OSError) and fault.strerror:
        if fault.errno == errno.ENOSPC:
            return "no space left on device: nothing half-written is left; make room, or give a folder on another disk"
        place = Path(fault.filename) if fault.filename else None
        if place and files.DRAFT.match(place.name):   # a name that nobody gave
            place = place.parent
        where = f"{place}: " if place else ""
        return f"{where}{fault.strerror.lower()}; mend that, or give another folder"
    return str(fault)


def _path(text):
    from kit.base import files
    if "\0" in text or not text.strip():
        raise argparse.ArgumentTypeError("expected the name of a folder")
    if files.WINDOWS and (why := files.refused(text, os.getcwd())):
        raise argparse.ArgumentTypeError(why)
    return text


def _folder(parser):
    parser.add_argument("folder", type=_path, metavar="FOLDER", help="the study's folder")


def _draws(parser, default):
    parser.add_argument("--draws", type=_whole, default=default, metavar="N",
                        help=f"number of draws (default {default})")
    parser.add_argument("--seed", type=_from_nought, default=1, metavar="S",
                        help="whole number; the same seed gives the same draws (default 1)")


def _whole(text):
    """A whole number above 0, also as 1e6 or 1_000_000."""
    plain = re.sub(r"(?<=\d)[_ \u202f](?=\d{3})", "", text)
    power = re.fullmatch(r"(\d)e\+?(\d{1,2})", plain)
    plain = power[1] + "0" * int(power[2]) if power else plain
    if not plain.isdecimal() or not 0 < len(plain) < 16 or int(plain) < 1:
        raise argparse.ArgumentTypeError(f"expected a whole number above 0, got {reprlib.repr(text)}")
    return int(plain)


def _port(text):
    if not text.isdecimal() or not 0 < int(text) < 2**16:
        raise argparse.ArgumentTypeError(f"expected the number of a port, 1 to 65535, got {reprlib.repr(text)}")
    return int(text)


def _estimate(loaded, draws, seed):
    """Of a long run: say how long it will take, and how far it is; None for a short one."""
    if draws <= LONG_RUN:
        return None
    from kit.base import words
    loaded.assess(2**10, seed)   # imports and tables
    begun = time.monotonic()
    loaded.assess(2**15, seed)
    seconds = (time.monotonic() - begun) / 2**15 * draws
    span = f"{seconds / 60:.0f} minutes" if seconds < 5400 else f"{seconds / 3600:.1f} hours"
    print(f"{words.count(draws)} draws take about {span if seconds > 90 else 'a minute'} here; Ctrl-C stops, and "
          f"leaves "
          "nothing", file=sys.stderr)
    told = [0]

    def progress(done, total):
        if done * 10 // total > told[0]:
            told[0] = done * 10 // total
            print(f"{words.percent(done / total)} of {words.count(total)} draws", file=sys.stderr)

    return progress


def _from_nought(text):
    if not text.isdecimal():
        raise argparse.ArgumentTypeError(f"expected a whole number from 0, got {text!r}")
    return int(text)


def _width(text):
    try:
        return float(text.removesuffix("mm").strip())
    except ValueError:
        raise argparse.ArgumentTypeError(f"expected a width in mm like 90, got {text!r}") from None


# --- one function a command -------------------------------------------------------------------------------------------

def new(given):
    """Write a new study folder: by a short interview at the terminal, or from flags.

    Without flags and without a terminal the answers are read from what is piped in, a line each. The plan is one that
    the kit seeks for such tubes. The folder holds study.toml with comments that teach, assumptions.csv, bench_log.csv
    with a printable sheet, sources.bib and datapackage.json, and loads as it stands. A folder that holds something
    already is refused.
    """
    from kit.study import newstudy
    answers = {name: getattr(given, name) for name, *_ in newstudy.QUESTIONS}
    newstudy.refuse_filled(given.folder)   # before anybody answers a dozen questions
    if not any(answers.values()):
        answers = _interviewed() if sys.stdin.isatty() else _piped()
    folder = newstudy.new(given.folder, **answers)
    print(f"{folder}: a new study. Next: open study.toml in it, whose comments explain every line; then python -m kit "
          f"check {_quoted(folder)}")


def _interviewed():
    """Answers at the terminal; of those that contradict each other, these alone are asked for again."""
    from kit.study import newstudy
    texts, said, names = {}, {}, [name for name, *_ in newstudy.QUESTIONS]
    while names:
        for name, question, _, default in newstudy.QUESTIONS:
            if name in names and (said.get("barrel", True) or name not in newstudy.OF_A_BARREL):
                texts[name], said[name] = _asked(name, f"{question} [{default or 'none'}] ")
        names = []
        for why, names in newstudy.conflicts(said):
            print(why)
            break
    return texts


def _piped():
    """Answers from a pipe or a file, a line each, in the order of the questions; a blank line, or none, is the default.

    Raises StudyError for an answer that cannot be used, and for more lines than there are questions: nobody is there to
    be asked again.
    """
    from kit.study import newstudy
    from kit.study.studyfile import StudyError
    try:
        lines = [line.strip() for line in sys.stdin.read().splitlines()] if sys.stdin else []
    except OSError:   # nothing that can be read
        lines = []
    while lines and not lines[-1]:
        lines.pop()
    texts, said, asked = {}, {}, iter(lines)
    for number, (name, question, *_) in enumerate(newstudy.QUESTIONS, 1):
        if name in newstudy.OF_A_BARREL and not said["barrel"]:
            continue
        texts[name] = next(asked, "")
        try:
            said[name] = newstudy.answer(name, texts[name])
        except ValueError as fault:
            raise StudyError(f"the answer to {question!r}: {fault}") from None
    if left := list(asked):
        raise StudyError(f"{len(lines)} lines of answers, but only {len(texts)} questions: nobody asks for "
                         f"{left[0]!r}; the questions in their order are those of python -m kit new -h, those of a "
                         "barrel left out where there is none")
    return texts


def _asked(name, question):
    """An answer that can be used, as it was typed and as it is understood: one that cannot is told, and asked again."""
    from kit.study import newstudy
    while True:
        text = input(question).strip()
        try:
            return text, newstudy.answer(name, text)
        except ValueError as fault:
            print(fault)


def _new_flags(parser):
    from kit.study import newstudy
    _folder(parser)
    for name, question, _, default in newstudy.QUESTIONS:
        parser.add_argument(f"--{name.replace('_', '-')}", metavar="TEXT",
                            help=f"{question} (default: {default or 'none'})")


def check(given):
    """Say everything that is wrong or weak in a study folder, all at once, each with file, row and remedy."""
    from kit import study
    from kit.base.evidence import counted_grades
    from kit.base.tables import TableError
    from kit.publish import claims
    from kit.study import support
    faults, log = study.faults(given.folder), None
    try:
        log = _log(given.folder)
    except TableError as fault:   # told with the rest
        faults.append(str(fault))
    loaded = None if faults else study.load(given.folder)
    if loaded:
        faults += [*_refused(loaded), *support.impossible(loaded)]
    if loaded:
        from kit.study import skill
        faults += skill.photographs(given.folder, log).faults
    if log:
        faults += [*log.faults, *(_misfits(log, loaded) if loaded else ())]
    if faults:
        print(f"Wrong: {len(faults)}")
        _list(faults)
        return 2
    verdict = loaded.assess(given.draws, given.seed)
    weak = claims.weaknesses(verdict, log)
    print(f"Nothing is wrong. Weak: {len(weak)}" if weak else
          "Nothing is wrong, and nothing that a reviewer would ask about was found.")
    _list(map(str, weak))
    grades = loaded.register.loc[sorted(verdict.asked), "grade"]
    print(f"The verdict rests on {len(grades)} assumptions: {counted_grades(grades)}.")


def _refused(loaded):
    """What a write-up would refuse in the end, asked beforehand: lines of what is wrong, where, and the remedy."""
    from kit.base import references
    from kit.publish import archive, citing, claims, wording
    from kit.study import tomlreading
    record, folder = loaded.record, loaded.folder

    def at(key, table, place):
        return f"{tomlreading.place(folder, key, table)}{place}: "

    asked = [(lambda: archive.check(loaded.title), at("title", "", "")),
             (lambda: archive.check("A title", licence=record.get("licence", "")),
              at("licence", "record", ", [record]"))]
    for number, author in enumerate(record.get("authors", ()), 1):
        table = f"record.authors, number {number}"
        asked.append((lambda author=author: archive.check("A title", [author]), at("orcid", table, f", [{table}]")))
    bib = folder / "sources.bib"
    asked += [(lambda: references.read(bib) and citing.citing({}, bib) if bib.exists() else None, ""),
              (lambda: wording.kept(loaded), ""),
              (lambda: claims.registered(loaded), "")]
    for ask, where in asked:
        try:
            ask()
        except ValueError as fault:
            yield f"{where}{fault}"


def _log(folder):
    """The bench log of a study folder, None where there is none."""
    from kit.study import bench
    path = Path(folder) / "bench_log.csv"
    return bench.read(path) if path.exists() else None


def _misfits(log, loaded):
    """Rows of a log that this study cannot place, such as those of a tube that it does not have."""
    from kit.base import units
    from kit.study.bench import BenchError, NothingMeasured
    for row in log.counted:
        try:
            with units.told():   # a verdict tells what lies outside a formula's range
                dataclasses.replace(log, rows=(row,)).measurements(loaded)
        except NothingMeasured:
            pass
        except BenchError as fault:
            yield str(fault)


def assess(given):
    """Print the verdict of a study as a table, and in words, with its band and the four ways to settle a step."""
    from kit import study
    from kit.base import words
    from kit.publish import claims
    from kit.publish.tabular import lined_up
    from kit.publish.worked_out import WorkedOut, cited_trace
    from kit.study import instructions
    loaded, log = study.load(given.folder), _log(given.folder)
    worked = WorkedOut(loaded, given.draws, given.seed, progress=_estimate(loaded, given.draws, given.seed))
    verdict = worked.verdict
    print(f"{loaded.title}{' (invented)' if loaded.invented else ''}\n")
    print(lined_up(verdict.for_reading()))
    print(f"\n{instructions.TOLD_AT}")
    print(f"\n{verdict.words}\n{verdict.worlds.told()}\n{worked.at_the_bench.ways_said}")
    _list(f"{said}: {meaning}" for said, meaning in instructions.WAYS.values())
    print(claims.strength(verdict, log).words)
    if log and log.faults:
        print(f"warning: {words.counted(len(log.faults), 'row')} of {log.path} cannot be used; python -m kit check "
              "says why")
    for warning in verdict.warnings:
        print(f"warning: {warning}")
    if given.bench:
        bench = worked.at_the_bench
        print(f"\nSettled at the bench, by feel: median (5 % to 95 %); {bench.drawn}\n")
        print(lined_up(instructions.for_reading(bench.instructions)))
        if minded := instructions.cautions(loaded):
            print("\nUsual cautions; local rules and licensed practice come first")
            _list(f"{operation}: {said}" for operation, said in minded.items())
        print("\nTools to be made, and how often each can be stoned before it cuts under size\n")
        print(lined_up(instructions.cards_for_reading(bench.tools)))
    if given.trace:
        print(f"\n{cited_trace(verdict.trace(given.trace), loaded)}")


def _assess_flags(parser):
    _folder(parser)
    _draws(parser, 2**14)
    parser.add_argument("--bench", action="store_true",
                        help="also print what the maker settles at each step, and a card for every tool to be made")
    parser.add_argument("--trace", metavar="CRITERION", help="also print where the numbers of this criterion come from")


def register(given):
    """Write the claim and plan of a study, before the trials, with a digest and the date: registration.md in its
    folder."""
    from kit import study
    from kit.base import files
    from kit.publish import claims
    loaded = study.load(given.folder)
    path = Path(given.folder) / claims.REGISTRATION
    if path.exists():
        raise FileExistsError(f"{path} is there already: what was registered stays as it was. A change of plan goes "
                              "under [[record.deviations]] in study.toml")
    files.writable(path.parent)
    verdict = loaded.assess(given.draws, given.seed, progress=_estimate(loaded, given.draws, given.seed))
    files.put(path, claims.registration(verdict, given.date, _log(given.folder)), new=True)
    print(f"{path}: written. Send a copy of it to somebody, or deposit it, before the first trial.")


def _register_flags(parser):
    _folder(parser)
    _draws(parser, 2**14)
    parser.add_argument("--date", type=bench_commands.day, metavar="YYYY-MM-DD",
                        help="of the registration (default: today)")


def writeup(given):
    """Write figures, tables, text, report and archive of a study into a new folder of DIR, whole or not at all.

    Of several studies of one object: one report that sets their claims and verdicts side by side and names what they
    share, and the write-up of each in the folder 'studies' beside it.
    """
    from kit.base import words
    from kit.publish import together
    from kit.publish.writeup import DOCUMENTS, WIDTHS, WorkedOut, bundled
    worked = [WorkedOut(each, given.draws, given.seed, progress=_estimate(each, given.draws, given.seed))
              for each in together.loaded(given.folders)]
    how = {"widths": tuple(given.width or WIDTHS), "formats": ("pdf", "svg", "png", *(["tiff"] if given.tiff else [])),
           "date": given.date, "documents": tuple(given.document or DOCUMENTS)}
    if len(worked) == 1:
        if given.title:
            raise ValueError("--title is of a report on several studies; a study has its title in study.toml")
        made = bundled(*worked, given.out, **how)
    else:
        made = together.bundled(worked, given.out, given.title, **how)
    files = words.counted(sum(p.is_file() for p in made.rglob("*")), "file")
    print(f"{made}: {files}; start with README.txt or report.html")


def _writeup_flags(parser):
    parser.add_argument("folders", type=_path, nargs="+", metavar="FOLDER",
                        help="the study's folder; several for one report on studies of one object")
    parser.add_argument("--title", metavar="TEXT", help="of the report on several studies (default: their titles)")
    parser.add_argument("--out", type=_path, required=True, metavar="DIR",
                        help="folder in which the write-up's own folder is made")
    parser.add_argument("--width", type=_width, action="append", metavar="MM",
                        help="of the figures, again for more than one (default: 90, 140 and 190)")
    parser.add_argument("--document", choices=("html", "pdf", "docx", "tex", "odt", "xml"), action="append",
                        help="format of report and annex, again for more than one; xml is JATS (default: html, pdf, "
                             "docx and tex)")
    parser.add_argument("--tiff", action="store_true", help="TIFF at 600 dpi as well")
    parser.add_argument("--date", type=bench_commands.day, metavar="YYYY-MM-DD", help="of the archive (default: today)")
    _draws(parser, 2**17)


def pages(given):
    """Run the notebooks on each study and write them as linked pages, to be read without running anything."""
    from kit.publish import pages as site
    made = site.write(given.out, given.studies, **({"notebooks": given.notebooks} if given.notebooks else {}),
                      only=given.only, told=lambda said: print(said, file=sys.stderr))
    print(f"{made}: start with {Path(made) / 'index.html'}")


def _page_flags(parser):
    parser.add_argument("studies", type=_path, nargs="*", metavar="STUDY", help="a study's folder (default: the demo)")
    parser.add_argument("--out", type=_path, required=True, metavar="DIR", help="a new folder for the pages")
    parser.add_argument("--notebooks", type=_path, metavar="DIR", help="folder of the notebooks (default: the kit's)")
    parser.add_argument("--only", action="append", metavar="NAME",
                        help="a notebook such as 03_thin_wall, again for more than one (default: all)")


def handouts(given):
    """Write the printable sheets of a workshop session as PDF."""
    from kit.workshop import handouts as sheets
    from kit import study
    made = sheets.write(given.out, study.load(given.study) if given.study else None, people=given.people,
                        minutes=given.minutes, live_lathe=not given.no_lathe, overwrite=given.overwrite)
    print("\n".join(map(str, made)))


def _handout_flags(parser):
    parser.add_argument("--out", type=_path, required=True, metavar="DIR", help="folder for the sheets")
    parser.add_argument("--study", type=_path, metavar="FOLDER",
                        help="the study whose part is made (default: the workshop piece)")
    parser.add_argument("--people", type=_whole, default=12, metavar="N", help="how many learners (default 12)")
    parser.add_argument("--minutes", type=int, choices=(45, 90, 120, 150), default=150,
                        help="length of the session (default 150)")
    parser.add_argument("--no-lathe", action="store_true", help="without a live lathe")
    parser.add_argument("--overwrite", action="store_true", help="in place of sheets that are there already")


def open_pages(given):
    """Open all pages in the browser, without code, for a study or the demo; needs the extra `kiosk`, no internet."""
    from kit import study
    from kit.publish import kiosk
    if given.folder:
        study.load(given.folder)   # a fault is told here, and not on every page
    try:
        return kiosk.serve(given.folder, given.notebooks, given.port, not given.no_browser)
    except ModuleNotFoundError as fault:
        raise ValueError(str(fault)) from None


def _open_flags(parser):
    parser.add_argument("folder", nargs="?", type=_path, metavar="FOLDER",
                        help="the study's folder (default: the invented demo)")
    parser.add_argument("--notebooks", type=_path, metavar="DIR",
                        help="folder of the notebooks (default: ./notebooks, or those beside the kit)")
    parser.add_argument("--port", type=_port, metavar="N", help="of this machine (default: a free one)")
    parser.add_argument("--no-browser", action="store_true", help="only print the address")


def _check_flags(parser):
    _folder(parser)
    _draws(parser, 2**12)


def _with_kinds(flags):
    """Flags of a command of another file, given what this one understands: a folder, whole numbers."""
    return lambda parser: flags(parser, _path, _whole, _from_nought)


COMMANDS = {"new": (new, _new_flags), "check": (check, _check_flags), "assess": (assess, _assess_flags),
            "register": (register, _register_flags), "writeup": (writeup, _writeup_flags),
            "handouts": (handouts, _handout_flags), "open": (open_pages, _open_flags), "pages": (pages, _page_flags),
            "reach": (bench_commands.reach, _with_kinds(bench_commands.reach_flags)),
            "next": (bench_commands.next_trials, _with_kinds(bench_commands.next_trials_flags)),
            "log": (bench_commands.log, _with_kinds(bench_commands.log_flags)),
            "sheets": (bench_commands.protocols, _with_kinds(bench_commands.protocols_flags))}


def _list(lines):
    for line in lines:
        print(f"- {line}")


def _quoted(path):
    import shlex
    return shlex.quote(str(path))


# --- terminals that lack a sign ---------------------------------------------------------------------------------------

PLAINER = {"\u202f": " ", "µ": "u", "·": "*", "∞": "inf", "−": "-", "×": "x", "°": "deg ", "₀": "0", "…": "...",
           "≥": ">=", "≤": "<="}


def in_plain_signs(fault):
    """Codec error handler: what a terminal cannot show, in signs that every one has; (text, where to go on)."""
    from kit.base.words import LOWERED, UP
    missing = fault.object[fault.start:fault.end]
    missing = re.sub(f"[{UP}]+", lambda found: "^" + found[0].translate(LOWERED), missing)
    return "".join(PLAINER.get(sign) or _bare(sign) for sign in missing), fault.end


def _bare(sign):
    """A letter without its accent; a question mark for what has no plainer sign."""
    return unicodedata.normalize("NFKD", sign).encode("ascii", "ignore").decode() or "?"


codecs.register_error("kit.plain_signs", in_plain_signs)

if __name__ == "__main__":
    for stream in (sys.stdout, sys.stderr):
        stream.reconfigure(errors="kit.plain_signs")
    status = 130
    try:
        status = main()
        signal.signal(signal.SIGINT, signal.SIG_IGN)   # all is done or told; what is left is Python's own tidying up
    except KeyboardInterrupt:   # just then
        pass
    sys.exit(status)
