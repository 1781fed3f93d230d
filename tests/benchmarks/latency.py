"""From key press to new figure: how long does a panel keep the hand waiting, in a real JupyterLab and a real browser?

    python tests/benchmarks/latency.py [00_start.ipynb ...]        all notebooks with a panel where none is named

Each panel gets 24 key presses, its controls by turns; the first four pay what is paid once and are left out. The clock
stands in the page: from the press until the new picture is decoded. A press that changes nothing, where nothing in the
figure hangs on that control, is counted apart. Nothing is asserted: the aim is a median under 150 ms for one axes and
250 ms for two, on two cores; a machine that is busy with something else shows more. Needs a Chromium, as the browser
tests do.
"""
import json
import os
import statistics
import sys
from pathlib import Path

import nbformat
import pytest

sys.path[0] = str(Path(__file__).parents[1])   # in place of this folder, whose coverage.py others would take for the library
from browsing import CHROMIUM, NOTEBOOKS, browser, lab, open_and_run, page, window  # noqa: E402, F401 (four fixtures)

NAMES = sorted(p.name for p in NOTEBOOKS.glob("[0-9]*.ipynb") if "panels." in p.read_text(encoding="utf-8"))
PRESSES, LEFT_OUT, PATIENCE = 24, 4, 3000   # ms
CONTROLS = ".noUi-handle, select"
COUNT = "from kit import widgets; print('axes:', [len(p.shown.figure.axes) for p in widgets.panels()])"

# An arrow towards the middle of what the control allows, so that all presses stay within it.
KEY = """c => c.tagName == 'SELECT' ? (c.selectedIndex < c.options.length - 1 ? 'ArrowDown' : 'ArrowUp')
    : 2 * c.ariaValueNow < +c.ariaValueMin + +c.ariaValueMax ? 'ArrowRight' : 'ArrowLeft'"""
# Starts the clock at the next key press, and stops it when a picture that was not there before is decoded.
CLOCK = """([panel, control]) => { const old = panel.querySelector('img').src; control.focus();
    window.waited = new Promise(done => document.addEventListener('keydown', () => { const start = performance.now();
        const look = () => { const now = panel.querySelector('img');
            if (now && now.src !== old) now.decode().then(() => done(performance.now() - start), look);
            else requestAnimationFrame(look); };
        look(); }, {once: true, capture: true})); }"""
ROWS = []
TABLE = "{:28} {:>5} {:>4} {:>7} {:>11} {:>9} {:>9}"


def pressed(page, panel):  # noqa: F811
    """Milliseconds of each press that changes the picture, sorted."""
    controls, times = panel.locator(CONTROLS).element_handles(), []
    holder = panel.element_handle()
    for i in range(PRESSES):
        control = controls[i % len(controls)]
        page.evaluate(CLOCK, [holder, control])
        page.keyboard.press(control.evaluate(KEY))
        times.append(page.evaluate("most => Promise.race([waited, new Promise(late => setTimeout(late, most, null))])",
                                   PATIENCE))
        page.wait_for_timeout(150)
    return sorted(t for t in times[LEFT_OUT:] if t is not None)


@pytest.mark.skipif(not CHROMIUM, reason="no Chromium on this machine: install one, or name it in CHROMIUM")
@pytest.mark.parametrize("name", os.environ.get("LATENCY", "").split() or NAMES)
def test_latency(lab, page, name):  # noqa: F811
    base, token, folder = lab
    book = nbformat.read(folder / name, 4)
    book.cells.append(nbformat.v4.new_code_cell(COUNT))
    nbformat.write(book, folder / name)
    open_and_run(page, base, token, name)
    axes = json.loads(page.get_by_text("axes: [").last.inner_text().partition("axes:")[2])
    for number, (panel, count) in enumerate(zip(page.locator(".kit-panel").all(), axes), 1):
        panel.scroll_into_view_if_needed()
        times = pressed(page, panel)
        ROWS.append((name, number, count, len(times), f"{statistics.median(times):.0f}",
                     f"{times[int(0.9 * (len(times) - 1))]:.0f}", PRESSES - LEFT_OUT - len(times)))


class Table:
    def pytest_terminal_summary(self, terminalreporter):
        head = ("notebook", "panel", "axes", "presses", "median / ms", "90 % / ms", "no change")
        for row in (head, *sys.modules["latency"].ROWS):
            terminalreporter.write_line(TABLE.format(*row))


if __name__ == "__main__":
    os.environ["LATENCY"] = " ".join(sys.argv[1:])
    sys.exit(pytest.main([__file__, "-q", "-p", "no:cacheprovider", "-o", "addopts="],
                         plugins=[Table()]))
