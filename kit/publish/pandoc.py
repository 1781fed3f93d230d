"""Pandoc, which turns one document into the formats that journals and readers ask for, run as a process.

It reads no file but those that are named to it, asks no network, and is told a fixed day, so that the same document
gives the same bytes.
"""
import functools
import json
import os
import subprocess

DAY = "315532800"   # 1980-01-01, as in the archive's zip


class Unprinted(ValueError):
    """A document, a style or a list of sources that a print engine does not take, and why."""


@functools.cache
def program():
    """Path of the Pandoc that pypandoc brings. Raises Unprinted where there is none, as on Windows for ARM."""
    try:
        import pypandoc
        return pypandoc.get_pandoc_path()
    except (ImportError, OSError):
        raise Unprinted("Pandoc is not here, which writes the report: install it with 'pip install pypandoc-binary', "
                        "or, where there is none for this machine (Windows on ARM), install Pandoc itself") from None


def run(text, *flags, strict=True):
    """What Pandoc makes of a text, as bytes. flags: of its command line. strict: its warnings are faults too.

    Raises Unprinted with what Pandoc says.
    """
    command = [program(), "--sandbox", *(["--fail-if-warnings"] if strict else []), *flags]
    done = subprocess.run(command, input=text.encode("utf-8"), capture_output=True, check=False,
                          env=os.environ | {"SOURCE_DATE_EPOCH": DAY})
    if done.returncode:
        raise Unprinted(" ".join(done.stderr.decode("utf-8", "replace").split()))
    return done.stdout


@functools.cache
def version():
    """Of the document tree that this Pandoc reads, as it writes it itself."""
    return json.loads(run("", "-f", "markdown", "-t", "json"))["pandoc-api-version"]


def cited(tree, references, style):
    """The tree with its citations and its list of references set, as a dict.

    tree: a document as a dict. references: works as CSL-JSON holds them. style: path of a CSL file, or None for
    author and date, as Pandoc has it built in.
    """
    import tempfile
    from pathlib import Path
    with tempfile.TemporaryDirectory(prefix="kit-") as folder:
        path = Path(folder, "references.json")
        path.write_text(json.dumps(references), encoding="utf-8")
        flags = ["--csl", str(style)] if style else []
        return json.loads(run(json.dumps(tree), "-f", "json", "-t", "json", "--citeproc", "--bibliography", str(path),
                              *flags))


def works_of(bibtex):
    """The entries of a BibTeX text, as CSL-JSON holds them."""
    return json.loads(run(bibtex, "-f", "bibtex", "-t", "csljson", strict=False))
