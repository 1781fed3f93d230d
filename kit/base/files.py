"""Files: what they are called, and how one is put in its place."""
import os
import re
import tempfile
import unicodedata
from pathlib import Path


def slug(text):
    """A name for files: small letters, figures and hyphens, accents left out."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60] or "study"


def put(path, content):
    """Put text or bytes into a file in one move: the old content or the new is there, never a part of either. The path.

    It is written under another name beside its place, and moved when whole; a fault leaves what was there as it was.
    """
    path = Path(path)
    handle, draft = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content if isinstance(content, bytes) else content.encode("utf-8"))
            file.flush()
            os.fsync(file.fileno())
        os.chmod(draft, path.stat().st_mode if path.exists() else 0o644)   # a temporary file is private
        os.replace(draft, path)
    except BaseException:
        Path(draft).unlink(missing_ok=True)
        raise
    return path
