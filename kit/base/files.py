"""Files: what they are called, how one is put in its place whole, and what becomes of the leftovers of a dead process.

Whatever is being written has a hidden name with the number of its process in it, `.kit-1234-...`; who writes the next
time into that folder clears away what processes that live no more have left.
"""
import contextlib
import errno
import os
import re
import secrets
import shutil
import time
import unicodedata
from pathlib import Path, PureWindowsPath

WINDOWS = os.name == "nt"
# names of devices; COM and LPT are counted with raised figures too
DEVICES = {"con", "prn", "aux", "nul", "conin$", "conout$",
           *(f"{port}{n}" for port in ("com", "lpt") for n in "0123456789¹²³")}
LONGEST_PATH = 259   # characters, where nobody has switched on longer ones
ROOM = 120   # characters that the longest name of what is made in a folder takes
NO_LINKS = (errno.EPERM, errno.EACCES, errno.ENOSYS, errno.EOPNOTSUPP, errno.ENOTSUP, errno.EXDEV)   # of a disk without
DRAFT = re.compile(r"\.kit-(\d+)-")
UNTIL = "until-"   # how the folder of a draft is called while its files are put into their places, before its last one
OLD = 24 * 3600   # s; where nobody can say whether the process lives, a draft of yesterday is dead
# what earlier versions of the kit left behind
FORMER = re.compile(r"\.unfinished-|\.new-study-|\.group-.*\.part$|\..*\.[a-z0-9_]{8}\.part$")


def slug(text):
    """A name for files: small letters, figures and hyphens, accents left out."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60] or "study"


def refused(path, here=""):
    """Why Windows would not take a folder of that name, in words; "" where it would. Nothing is looked up on a disk.

    path: as text. here: the folder from which it counts. Source, from memory: Microsoft, Naming Files, Paths, and
    Namespaces.
    """
    pure = PureWindowsPath(path)
    if pure.drive.endswith(":") and not pure.root:
        return (f"{path!r} counts from wherever drive {pure.drive} stands; write {pure.drive}\\ and the whole way from "
                "there")
    for part in pure.parts[bool(pure.anchor):]:
        if re.split(r"[.:]", part)[0].rstrip().lower() in DEVICES:
            return f"{part!r} is a name that Windows keeps for a device; give another"
        if sign := re.search(r'[<>:"|?*\x00-\x1f]', part):
            return f"{part!r} holds {sign[0]!r}, which no name on Windows may; leave it out"
        if part[-1] in ". " and part != "..":
            end = "dot" if part[-1] == "." else "blank"
            return f"{part!r} ends with a {end}, which Windows leaves out; leave it out"
    if (length := len(str(PureWindowsPath(here) / pure))) > LONGEST_PATH - ROOM:
        return (f"a way of {length} characters is too long for Windows, which takes {LONGEST_PATH} with all that "
                "is made in it; choose a folder nearer to the drive")
    return ""


def writable(folder):
    """Tell at once, before hours of work, of a folder in which nothing can be written. Raises OSError."""
    with drafting(folder):
        pass


@contextlib.contextmanager
def alone(path, patience, busy):
    """While this lasts nobody else who asks so writes a file; the lock goes with the process that holds it.

    patience: how long to wait for another, s. busy: function of what happened, a sentence without its end, that makes
    the error which is raised where somebody else holds the file for longer.
    """
    import filelock
    path = Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    held = filelock.FileLock(path.with_name(f".{path.name}.lock"), timeout=patience)
    try:
        held.acquire(poll_interval=0.02)
    except filelock.Timeout:
        raise busy(f"another page has been writing the file {path.name} for more than {patience:g} seconds, so nothing "
                   "was added to it") from None
    try:
        yield
    finally:
        held.release()


def put(path, content, new=False):
    """Put text or bytes into a file in one move: the old content or the new is there, never a part of either. The path.

    It is written under another name beside its place, and moved when whole; a fault leaves what was there as it was.
    new: whether the file must not be there yet; of two who make it at once one wins, and the other is told.
    Raises FileExistsError for a file that is there where `new` is True.
    """
    path = Path(path)
    clear(path.parent)
    draft = _draft(path.parent, ".part")
    try:
        with open(draft, "xb") as file:
            file.write(content if isinstance(content, bytes) else content.encode("utf-8"))
            file.flush()
            os.fsync(file.fileno())
        os.chmod(draft, path.stat().st_mode if path.exists() else 0o644)   # a temporary file is private
        if new:
            _move_new(draft, path)
        else:
            os.replace(draft, path)
    except BaseException:
        with contextlib.suppress(OSError):
            draft.unlink(missing_ok=True)
        raise
    return path


def _draft(folder, ending=""):
    """A hidden name that nobody has, known before anything is made: an interrupt while it is made leaves nothing."""
    return Path(folder) / f".kit-{os.getpid()}-{secrets.token_hex(8)}{ending}"


def _move_new(draft, path):
    """Give a file its name, which nobody may have taken; a link is refused where there is one, on every system."""
    try:
        os.link(draft, path)
    except FileExistsError:
        raise FileExistsError(f"{path} is there already; it was left as it is") from None
    except OSError as error:
        if error.errno not in NO_LINKS:
            raise
        if path.exists():   # the next best, which two at the very same moment might pass
            raise FileExistsError(f"{path} is there already; it was left as it is") from None
        os.replace(draft, path)
        return
    os.unlink(draft)


@contextlib.contextmanager
def drafting(home):
    """A hidden folder in `home` to write in until all is whole; it is gone in the end, whatever happens."""
    clear(home)
    draft = _draft(home)
    try:
        draft.mkdir(mode=0o700)
        yield draft
    finally:
        shutil.rmtree(draft, ignore_errors=True)


def fill(folder, draft, last):
    """Put the files of a draft into a folder that stands, each whole, and the one called `last` when all others are
    there.

    Whatever goes wrong, those that were put are taken away again; so they are at the next start (see `clear`) where the
    process was killed: the draft keeps a copy of each, and none that somebody has changed since is touched.
    Raises FileExistsError for a file that somebody else has put there meanwhile.
    """
    draft, placed = Path(draft).rename(Path(draft).parent / (UNTIL + last)), []
    try:
        for file in sorted(draft.iterdir()):
            if file.name != last:
                placed.append(file.name)
                put(folder / file.name, file.read_bytes(), new=True)
        _move_new(draft / last, folder / last)
    except BaseException as fault:
        _take_back(folder, draft, placed[:-1] if isinstance(fault, FileExistsError) else placed)
        raise


def _take_back(folder, draft, names=None):
    """Remove from a folder the files that a draft has put there, unless its last one is there too."""
    last = draft.name.removeprefix(UNTIL)
    if not (draft / last).exists() or _same(draft / last, folder / last):
        return
    for name in os.listdir(draft) if names is None else names:
        if _same(draft / name, folder / name):
            (folder / name).unlink()


def _same(one, other):
    return one.is_file() and other.is_file() and one.read_bytes() == other.read_bytes()


def clear(folder):
    """Remove what dead processes have left half-written in a folder; whatever cannot be removed is let be."""
    folder = Path(folder)
    with contextlib.suppress(OSError):
        for entry in list(folder.iterdir()):
            if leftover(entry):
                if entry.is_dir():
                    for draft in entry.glob(f"{UNTIL}*"):
                        _take_back(folder, draft)
                    shutil.rmtree(entry, ignore_errors=True)
                else:
                    with contextlib.suppress(OSError):
                        entry.unlink()


def leftover(path):
    """Whether a file or folder is a draft of a process that lives no more."""
    path = Path(path)
    draft = DRAFT.match(path.name)
    if not draft:
        return bool(FORMER.match(path.name)) and _age(path) > OLD
    return not _lives(int(draft[1])) or _age(path) > OLD


def _age(path):
    try:
        return time.time() - path.stat().st_mtime
    except OSError:
        return 0.0


def _lives(process):
    """Whether a process of this number lives; on Windows, where to ask would end it, every one is taken to live."""
    if WINDOWS:
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        pass
    return True
