"""kit.proofs: figures looked at, put into one's own words and saved; without a browser, on few draws."""
import re
import shutil

import ipywidgets
import pytest

from kit import proofs, study, writeup


@pytest.fixture
def desk(tmp_path):
    shutil.copytree(study.DEMO, tmp_path / "mine")
    return proofs.page(study.load(tmp_path / "mine"), out=tmp_path / "out", draws=2**8)


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


def test_a_write_up_is_looked_at_worded_and_saved(desk, tmp_path):
    found, (shown, told, _, listed) = parts(desk)
    assert re.search(r"alt='[^']+'", shown.value)
    before = shown.value
    found["width"].value = 190
    assert shown.value.startswith("<img style='width:190.0mm") and shown.value != before
    found["caption verdict"].value = "Figure of <margins>."
    found["Keep these words"].click()
    assert "Kept in" in told.value and "Figure of <margins>." in (tmp_path / "mine" / writeup.WORDING).read_text(encoding="utf-8")
    switches = [part for part in found.values() if isinstance(part, ipywidgets.Checkbox)][:-1]   # the last is for TIFF
    for switch in switches[1:]:   # one figure will do
        switch.value = False
    found["Save the bundle"].click()
    bundle, = (tmp_path / "out").glob("the-harbour-dial-*")
    assert "holds" in listed.value and (bundle / "report.pdf").exists() and list((bundle / "figures").glob("*-190mm.svg"))
    assert not list((bundle / "figures").glob("*-90mm.*")) and "Figure of &lt;margins&gt;" in (bundle / "report.html").read_text(encoding="utf-8")


def test_what_cannot_be_saved_is_told(desk, tmp_path):
    found, (*_, listed) = parts(desk)
    (tmp_path / "out").write_text("a letter")
    found["Save the bundle"].click()
    assert "<b>Not done.</b>" in listed.value and (tmp_path / "out").read_text() == "a letter"
