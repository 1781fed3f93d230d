"""Pandoc, which turns one document into the formats that journals and readers ask for, run as a process.

It reads no file but those that are named to it, asks no network, and is told a fixed day, so that the same document
gives the same bytes.
"""
import functools
import io
import json
import os
import re
import subprocess
import zipfile

DAY = "315532800"   # 1980-01-01, as in the archive's zip
# what is changed in the parts of Pandoc's own DOCX; sizes in half points, places in twentieths of one
OF_WORD = {
    "word/document.xml": [("</w:sectPr>", '<w:pgSz w:w="11906" w:h="16838"/><w:pgMar w:top="1247" w:right="1417" '
                           'w:bottom="1247" w:left="1417" w:header="709" w:footer="709" w:gutter="0"/></w:sectPr>')],
    "word/styles.xml": [
        (r'(?s)(<w:docDefaults>.*?)<w:sz w:val="24" />\s*<w:szCs w:val="24" />',
         r'\1<w:sz w:val="21" /><w:szCs w:val="21" />'),
        (r'(?s)(w:styleId="Compact">.*?</w:pPr>)', r'\1<w:rPr><w:sz w:val="16" /><w:szCs w:val="16" /></w:rPr>'),
        (r'(?s)(w:styleId="Table">.*?<w:left w:w=)"108"(.*?<w:right w:w=)"108"', r'\1"57"\2"57"')]}
# and of its ODT: A4, the text in 10.5 point and the cells of tables in 8
A4 = ('fo:page-width="210mm" fo:page-height="297mm" style:num-format="1" style:print-orientation="portrait" '
      'fo:margin-top="22mm" fo:margin-bottom="22mm" fo:margin-left="25mm" fo:margin-right="25mm"')
ON_ITS_SIDE = A4.replace("210mm", "X").replace("297mm", "210mm").replace("X", "297mm").replace("portrait", "landscape")
LETTER = (r'fo:page-width="8.5in"\s+fo:page-height="11in"\s+style:num-format="1"\s+'
          r'style:print-orientation="portrait"\s+'
          + r'\s+'.join(f'fo:margin-{side}="1in"' for side in ("top", "bottom", "left", "right")))
CELLS = r'(?s)(<style:style style:name="Table_20_Contents".*?/>)(\s*</style:style>)'
OF_ODT = {"styles.xml": [
    (LETTER, A4), ('fo:font-size="12pt"\\s+fo:language', 'fo:font-size="10.5pt" fo:language'),
    (CELLS, r'\1<style:text-properties fo:font-size="8pt"/>\2')]}
# a second page, upright, that begins where a paragraph has the style named Upright
UPRIGHT = [(r"(?s)(<style:page-layout style:name=\"Mpm1\">.*?</style:page-layout>)", None),
           ("</office:styles>", '<style:style style:name="Upright" style:family="paragraph" style:parent-style-name='
            '"Standard" style:master-page-name="Upright"/></office:styles>'),
           ("</office:master-styles>", '<style:master-page style:name="Upright" style:page-layout-name="Mpm2"/>'
            '</office:master-styles>')]


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


@functools.cache
def word_styles():
    """A DOCX whose styles a report takes where no journal gives its own, as bytes: Pandoc's, on A4, the text in 10.5
    point and the cells of tables in 8, so that the longest words of a wide table stay whole."""
    return _restyled("reference.docx", OF_WORD)


@functools.cache
def odt_styles(turned=False):
    """The same for OpenDocument. turned: pages on their side, up to a paragraph of the style Upright."""
    if not turned:
        return _restyled("reference.odt", OF_ODT)

    def upright(found):
        return found[1].replace(A4, ON_ITS_SIDE) + found[1].replace("Mpm1", "Mpm2")

    return _restyled("reference.odt", {"styles.xml": [*OF_ODT["styles.xml"],
                                                      *((old, new or upright) for old, new in UPRIGHT)]})


def _restyled(name, changes):
    """A document of Pandoc's own, as bytes, its parts changed. changes: {part: [(what stands there, instead)]}"""
    made = io.BytesIO()
    with (zipfile.ZipFile(io.BytesIO(run("", f"--print-default-data-file={name}"))) as theirs,
          zipfile.ZipFile(made, "w") as ours):
        for part in theirs.infolist():
            held = theirs.read(part)
            for old, new in changes.get(part.filename, ()):
                held, found = re.subn(old, new, held.decode("utf-8"))
                held = held.encode("utf-8")
                if not found:
                    raise Unprinted(f"this Pandoc's own {name} has no {old} in {part.filename}; take another version")
            ours.writestr(zipfile.ZipInfo(part.filename), held)
    return made.getvalue()


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
