"""Typst, which sets what is printed as PDF that a screen reader reads (PDF/UA-1)."""
import datetime
import functools
from pathlib import Path

DAY = datetime.datetime(1980, 1, 1, tzinfo=datetime.timezone.utc)   # as in the archive's zip: no clock in the bytes


@functools.cache
def fonts():
    """Those that Typst and matplotlib bring, so that print looks the same on every machine; read once."""
    import matplotlib
    import typst
    return typst.Fonts(include_system_fonts=False, font_paths=[Path(matplotlib.get_data_path(), "fonts", "ttf")])


def pdf(source, files=None, inputs=None):
    """PDF of a Typst text, as bytes: the same for the same text, files and inputs.

    source: bytes. files: {name: bytes} that lie beside it. inputs: {name: text}, which the text has as `sys.inputs`:
    data, never read as code. Raises ValueError where Typst refuses it, such as for a picture without words.
    """
    import typst
    try:
        return typst.compile({"main.typ": source, **(files or {})}, sys_inputs=inputs or {}, pdf_standards=["ua-1"],
                             timestamp=DAY, ignore_system_fonts=True, font_paths=fonts())
    except typst.TypstError as fault:
        raise ValueError(f"Typst does not set this document: {' '.join([fault.message, *fault.hints])}") from None
