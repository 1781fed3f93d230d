"""Typst, which sets what is printed as PDF that a screen reader reads (PDF/UA-1)."""
import datetime
import tempfile
from pathlib import Path

DAY = datetime.datetime(1980, 1, 1, tzinfo=datetime.timezone.utc)   # as in the archive's zip: no clock in the bytes


def pdf(source, files=None):
    """PDF of a Typst text, as bytes: the same for the same text and files.

    source: bytes. files: {name: bytes} that lie beside it. Fonts are those that Typst and matplotlib bring, so that it
    looks the same on every machine. Raises ValueError where Typst refuses it, such as for a picture without words.
    """
    import matplotlib
    import typst
    with tempfile.TemporaryDirectory(prefix="kit-") as folder:
        for name, content in {"main.typ": source, **(files or {})}.items():
            path = Path(folder, name)
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)
        try:
            return typst.compile(str(Path(folder, "main.typ")), pdf_standards=["ua-1"], timestamp=DAY,
                                 ignore_system_fonts=True,
                                 font_paths=[str(Path(matplotlib.get_data_path(), "fonts", "ttf"))])
        except typst.TypstError as fault:
            raise ValueError(f"Typst does not set this document: {' '.join([fault.message, *fault.hints])}") from None
