"""kit.proofs: figures looked at, put into one's own words and saved; without a browser, on few draws."""
import functools
import re
import shutil

import ipywidgets
import pytest

from kit import proofs, study, worlds, writeup


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("desk")


@pytest.fixture(scope="module")
def desk(folder):
    """One desk for all; its band of few worlds, in full it takes seconds."""
    shutil.copytree(study.DEMO, folder / "mine")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(worlds, "band", functools.partial(worlds.band, worlds=8, inner=16))
        yield proofs.page(study.load(folder / "mine"), out=folder / "out", draws=2**8)


def parts(box):
    """{its words: button, switch or box} of a desk, and the texts that it shows, in order."""
    found, shown = {}, []
    for child in box.children:
        if isinstance(child, ipywidgets.Box):
            inner, more = parts(child)
            found, shown = found | inner, shown + more
        elif isinstance(child, ipywidgets.HTML):
            shown.append(child)
        else:
            found[child.description] = child
    return found, shown


def test_what_cannot_be_saved_is_told(desk, folder):
    found, (*_, listed) = parts(desk)
    (folder / "out").write_text("a letter")
    found["Save the bundle"].click()
    assert "<b>Not done.</b>" in listed.value and (folder / "out").read_text() == "a letter"
    (folder / "out").unlink()


def test_a_write_up_is_looked_at_worded_and_saved(desk, folder):
    found, (shown, told, _, listed) = parts(desk)
    assert re.search(r"alt='[^']+'", shown.value)
    before = shown.value
    found["width"].value = 190
    assert shown.value.startswith("<img style='width:190.0mm") and shown.value != before
    found["caption verdict"].value = "Figure of <margins>."
    found["Keep these words"].click()
    assert "Kept in" in told.value and "Figure of <margins>." in (folder / "mine" / writeup.WORDING).read_text(encoding="utf-8")
    switches = [part for part in found.values() if isinstance(part, ipywidgets.Checkbox)][:-1]   # the last is for TIFF
    for switch in switches[1:]:   # one figure will do
        switch.value = False
    found["Save the bundle"].click()
    bundle, = (folder / "out").glob("the-harbour-dial-*")
    assert "holds" in listed.value and (bundle / "report.pdf").exists() and list((bundle / "figures").glob("*-190mm.svg"))
    assert not list((bundle / "figures").glob("*-90mm.*")) and "Figure of &lt;margins&gt;" in (bundle / "report.html").read_text(encoding="utf-8")
