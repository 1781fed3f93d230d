"""What a notebook shows beside its words: a panel that redraws a figure as its controls move, and an assumption's card.

A panel's figure belongs to no pyplot window: it repaints quickly, runs without a browser, and leaves nothing open. What
it shows is only ever what a plain function returned, so each panel has a static twin. The sliders and choices
themselves are taken from `controls.py`.
"""
import base64
import contextlib
import functools
import gc
import json
import time
from dataclasses import dataclass
from html import escape
from pathlib import Path

import ipywidgets
import traitlets

from kit.base import evidence, references, tables, words
from kit.base.units import Q
from kit.publish import figures
from kit.publish.controls import INCH, NOTEBOOK, Slider, switch
from kit.publish.controls import around, choice, larger, slider  # noqa: F401 (a panel is made of them)
from kit.publish.front import GHOST, LINK, STYLE


# --- pictures and cards -----------------------------------------------------------------------------------------------

@dataclass(frozen=True)
class Shown:
    """What a panel shows and saves: the figure, its caption (also as text beside it), and the data that drew it.

    data: DataFrame, or a function without arguments that makes one, called only to save it: a moving slider cannot wait
    for a table that nobody sees. alt: the figure in words, for those who cannot see it; the caption where None.
    drawing: a drawings.Drawing that stands above the figure and moves with it; None where there is none.
    """
    figure: object
    caption: str
    data: object
    alt: str | None = None
    drawing: object = None

    @property
    def pictures(self):
        """What stands in the page, from the top: (figure, words for those who cannot see it) each."""
        drawn = [] if self.drawing is None else [(self.drawing.figure, self.drawing.alt)]
        return [*drawn, (self.figure, self.alt or self.caption)]


def _picture(png, alt, width, more=""):
    data = base64.b64encode(png).decode()
    return f"<img width='{width}' alt='{escape(alt, quote=True)}' {more}src='data:image/png;base64,{data}'>"


def made_by(*drawn):
    """The line under figures that names the kit's functions which made them, to look them up; "" where none did."""
    names = [f"<code>{escape(each.made_by)}</code>" for each in drawn if getattr(each, "made_by", None)]
    return f"<div class='kit-made'>made by {' and '.join(names)}</div>" if names else ""


def still(figure, alt=None, width=760):
    """The figure as a plain picture in the page, with its caption, which is also read to those who cannot see it: what
    a panel's static twin shows. figure: a Figure, or a drawings.Drawing, which brings caption and words of its own."""
    from IPython.display import HTML
    drawn, caption = getattr(figure, "figure", figure), alt or figure.caption
    read = getattr(figure, "alt", caption)
    return HTML(f"<figure style='margin:0'>{_picture(figures.png(drawn, dpi=150), read, width)}"
                f"<figcaption style='max-width:{width}px;font-style:italic'>{escape(caption)}</figcaption>"
                f"{made_by(drawn)}</figure>")


def text(*paragraphs):
    """Words in the page as they stand: what somebody has typed into a study is shown, and no mark in it is obeyed."""
    from IPython.display import HTML
    return HTML("".join(f"<p style='overflow-wrap:anywhere'>{escape(each)}</p>" for each in paragraphs))


def say(*parts):
    """As `print`, in the page: each line wrapped between words, to its own indentation, and never within a word."""
    from IPython.display import HTML, display
    rows = [(len(line) - len(line.lstrip()), line.strip()) for line in " ".join(map(str, parts)).splitlines()]
    display(HTML("".join(f"<div style='margin-left:{deep + 2}ch; text-indent:-2ch; overflow-wrap:anywhere'>"
                         f"{escape(line) or '&nbsp;'}</div>" for deep, line in rows)))


def card(assumption, study=None):
    """An assumption as a card in the page: median with 5 % to 95 %, unit, kind of evidence, source and note.

    assumption: an evidence.Assumption, or a row of Study.register, such as study.register.loc["hand.pinch"].
    study: whose own sources.bib is looked into too.
    Raises tables.TableError for a source that stands in no sources.bib.
    """
    from IPython.display import HTML
    if isinstance(assumption, evidence.Assumption):
        name, row, (low, mid, high) = assumption.said, vars(assumption), assumption.quantile([0.05, 0.5, 0.95])
    else:
        name, row, (low, mid, high) = assumption["assumption"], assumption, assumption[["low_5", "median", "high_95"]]
    bibs = [tables.REFERENCE / "sources.bib", *([] if study is None else [study.folder / "sources.bib"])]
    mid, ends = (words.with_unit(text, row["unit"] or "")
                 for text in (words.number(mid), f"{words.number(low)} to {words.number(high)}"))
    spread = "" if low == high else f" (5 % to 95 %: {ends})"
    source = references.citations([row["source"]], *(bib for bib in bibs if bib.exists()))[row["source"]]
    rows = {"median": mid + spread, "evidence": row["grade"].replace("-", " "), "source": source,
            "note": row["note"]}
    lines = "".join(f"<dt style='font-weight:bold'>{name}</dt><dd style='margin:0'>{escape(text)}</dd>"
                    for name, text in rows.items() if text)
    edge = "max-width:36em;border:1px solid #767676;border-left-width:5px;padding:.4em .8em;line-height:1.4"
    grid = "display:grid;grid-template-columns:max-content 1fr;gap:0 .8em;margin:.3em 0 0"
    return HTML(f"<section style='{edge}'><b>{escape(name)}</b><dl style='{grid}'>{lines}</dl></section>")


# --- panels -----------------------------------------------------------------------------------------------------------

DPI = 126   # at which 8 pt are as high as the words of the page
PAUSE = 1.0   # s: moves of one control that follow faster than this are one for undoing


_MADE = []


class Panel(ipywidgets.VBox):
    """What `panel` makes. controls: by name; shown: the last Shown; fault: why these values cannot be shown, or ''."""

    def __init__(self, draw, save_as, out, keep, controls):
        self.draw, self.save_as, self.out, self.controls = draw, save_as, Path(out), controls
        self.fault, self._quiet, self.past, self._last = "", False, [], (None, 0.0)
        self.path = self.out / f"{keep}.values.json" if keep else None
        self.shown = None
        self.start = {name: control.value for name, control in controls.items()}
        self.picture, self.words, self.maker, self.told = (ipywidgets.HTML(layout={"width": "auto"}) for _ in range(4))
        buttons = {"Save figure, caption and data": self.save} if save_as else {}
        buttons |= {"Undo": self.undo, "All to starting values": self.reset}
        foot = ipywidgets.HBox([_button(label, act) for label, act in buttons.items()])
        if any(getattr(control, "unit", "") in INCH for control in controls.values()):
            foot.children += (switch("inch, °F, lbf", "inch"),)
        foot.children += (switch("larger", "large"),)
        left = ipywidgets.VBox([*controls.values(), foot, self.told])
        right = ipywidgets.VBox([self.picture, self.words, self.maker])
        body = ipywidgets.HBox([left, right])
        super().__init__([ipywidgets.HTML(STYLE, layout={"display": "none"}), body])
        for part, name in ((self, "panel"), (body, "body"), (left, "controls"), (right, "shown"), (foot, "foot"),
                           (self.picture, "picture"), (self.words, "live"), (self.told, "live")):
            part.add_class(f"kit-{name}")
        self._begin()
        for control in controls.values():
            control.observe(functools.partial(self._noted, control), "value")
        NOTEBOOK.observe(lambda _: self._paint(self.shown, stale=bool(self.fault)), "large")
        _MADE.append(self)

    def values(self):
        """What `draw` is called with."""
        return self._taken(self._plain())

    def still(self, **values):
        """The panel's figure as a plain picture, for a page that is not run: as it begins, but for values given."""
        shown = self.draw(**self._taken(self.start) | values)
        return still(shown.figure, alt=shown.caption)

    def _taken(self, plain):
        return {name: Q(plain[name], c.unit) if hasattr(c, "unit") else plain[name]
                for name, c in self.controls.items()}

    def reset(self):
        """All controls to what they began with, in one move."""
        self.past.append(self._plain())
        self._set(self.start)
        self._moved()

    def undo(self):
        """The controls to what they were before the last move; a drag is one."""
        if self.past:
            self._set(self.past.pop())
            self._moved()

    def _plain(self):
        return {name: control.value for name, control in self.controls.items()}

    def _noted(self, control, change):
        """A control has moved: what was before is kept for undoing, then all is drawn anew."""
        if self._quiet:
            return
        which, when = self._last
        self._last = control, time.monotonic()
        if which is not control or self._last[1] - when > PAUSE:
            name = next(name for name, each in self.controls.items() if each is control)
            self.past.append(self._plain() | {name: change["old"]})
        self._moved()

    def _set(self, values):
        self._quiet = True
        for name, value in values.items():
            self.controls[name].value = value
        self._quiet = False

    def _moved(self, _=None):
        if self._quiet:
            return
        try:
            with _unswept():
                self._redraw()
        except Exception as fault:   # raised from here it would end in a log that nobody reads
            self.fault = _told(fault)
            self.words.value = f"<b>Cannot be shown with these values:</b> {escape(self.fault)}"
            self._paint(self.shown, stale=True)
        self._keep()

    def _redraw(self):
        shown = self.draw(**self.values())
        self._paint(shown)
        self.shown, self.fault, self.words.value = shown, "", escape(shown.caption)

    def _paint(self, shown, stale=False):
        (self.add_class if NOTEBOOK.large else self.remove_class)("kit-large")
        (self.remove_class if shown.drawing is None else self.add_class)("kit-wide")
        flag = "<b>Not of the present values: the last figure that could be drawn</b><br>" if stale else ""
        link = LINK.replace("SLIDERS", str(sum(isinstance(c, Slider) for c in self.controls.values())))
        pictures = []
        for part, (figure, alt) in enumerate(shown.pictures):
            width, height = (round(DPI * inches) for inches in figure.get_size_inches())
            done = GHOST + (";" + link if part == len(shown.pictures) - 1 else "")
            # height: so that nothing jumps while the picture comes
            more = f"height='{height}' data-part='{part}' decoding='sync' onload='{escape(done, quote=True)}' "
            alt = f"Not of the present values: {alt}" if stale else alt
            png = figures.png(figure, dpi=160 if NOTEBOOK.large else DPI)
            pictures.append(f"<figure>{_picture(png, alt, width, more)}</figure>")
        self.picture.value = f"<div class='{'kit-stale' if flag else ''}'>{flag}{''.join(pictures)}</div>"
        self.maker.value = made_by(*(figure for figure, _ in shown.pictures))

    # --- files

    def save(self):
        """Figure, caption, data and, where it is given, alt text as files, under a name that no file has yet."""
        try:
            shown, name = self.shown, _free_name(self.out, self.save_as)
            data = shown.data() if callable(shown.data) else shown.data
            paths = figures.save(shown.figure, self.out, name, shown.caption, data, alt=shown.alt)
            if shown.drawing is not None:
                drawn = shown.drawing
                paths += figures.save(drawn.figure, self.out, f"{name}.drawing", drawn.caption, drawn.data,
                                      alt=drawn.alt)
            self.told.value = "Saved: " + ", ".join(escape(str(p)) for p in paths)
        except Exception as fault:
            self.told.value = f"<b>Not saved:</b> {escape(_told(fault))}"

    def _keep(self):
        """The controls' values into the file that a rerun takes them from."""
        if self.path is None:
            return
        values = {name: f"{c.value!r} {c.unit}".strip() if isinstance(c, Slider) else c.value
                  for name, c in self.controls.items()}
        try:
            text = json.dumps({"panel": values}, ensure_ascii=False, indent=1) + "\n"
            self.out.mkdir(parents=True, exist_ok=True)
            tables.put(self.path, text)
        except (OSError, TypeError) as fault:
            self.told.value = f"<b>The values are not kept:</b> {escape(_told(fault))}"

    def _begin(self):
        """The first drawing: with the values that were kept, as far as they are of use."""
        told = self._take_up() if self.path is not None and self.path.exists() else []
        try:
            self._redraw()
        except Exception as fault:
            if {name: c.value for name, c in self.controls.items()} == self.start:
                raise
            self._set(self.start)
            self._redraw()
            told.append(f"nothing can be drawn with the values kept there ({fault}), so these are the starting values")
        self.told.value = escape("; ".join(told))

    def _take_up(self):
        """Sets the controls to what the file holds; words on whatever of it is of no use."""
        try:
            kept = json.loads(self.path.read_text(encoding="utf-8"))["panel"]
            kept.keys()
        except (OSError, ValueError, KeyError, TypeError, AttributeError):
            told = (f"{self.path} does not hold the values of a panel: it is left as it is, and nothing will be kept "
                    "until you rename or delete it and run this cell again")
            self.path = None
            return [told]
        told = [f"{self.path}: there is no {name!r} here any more" for name in kept if name not in self.controls]
        for name, control in self.controls.items():
            if name not in kept:
                continue
            try:
                control.value = control.read(f"{kept[name]}") if isinstance(control, Slider) else kept[name]
            except (ValueError, TypeError, traitlets.TraitError) as fault:
                told.append(f"{self.path}, {name!r}: {fault}; this is the starting value")
        return told


def panel(draw, save_as=None, out="out", keep=None, **controls):
    """Controls beside a figure and its caption; each move of one calls `draw(**values)` and shows what it returns.

    draw: function of the controls' names that returns a Shown; sliders arrive as Quantities, choices as words.
    save_as: name of the files that the save button writes to the folder `out` (figure as PDF, SVG and PNG, caption,
    data, and an alt text of its own); no button where None. keep: name of a small file in that folder, which holds the
    controls' values for when the cell or the kernel is run again; nothing is kept where None.
    A fault in `draw` is told in the page in plain words, and the last figure stays, marked as not of the present
    values; a fault in the very first drawing is raised, so that a notebook that cannot work fails when it is run.
    """
    return Panel(draw, save_as, out, keep, controls)


def panels():
    """The panels made in this notebook so far, the oldest first."""
    return list(_MADE)


def _told(fault):
    """A fault in words; its kind too, where it is not one that speaks to the reader."""
    return f"{'' if isinstance(fault, (ValueError, TypeError, OSError)) else f'{type(fault).__name__}: '}{fault}"


@contextlib.contextmanager
def _unswept():
    """No garbage is collected meanwhile: a figure leaves so much that a sixth of its time would go into sweeping."""
    swept = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if swept:
            gc.enable()


def _button(label, act):
    button = ipywidgets.Button(description=label, layout={"width": "auto"})
    button.on_click(lambda _: act())
    return button


def progress(label):
    """A bar in the page for long work: give it as `progress=` to Study.sweep, map or assess. The notebook's stop button
    ends the work in order, with what is done so far."""
    from IPython.display import display
    bar = ipywidgets.IntProgress(description=label, style={"description_width": "initial"})
    display(bar)

    def tell(done, total):
        bar.max, bar.value = total, done
        if done >= total:   # done: it stands in nobody's way
            bar.layout.display = "none"

    return tell


@contextlib.contextmanager
def busy(label):
    """Says in the page, while work goes on that cannot tell how far it is, what it is; takes the words away after it:
    with widgets.busy("conditioning the draws on the log"): ..."""
    from IPython.display import display
    told = ipywidgets.HTML(f"<i role='status'>working: {escape(label)} …</i>")
    display(told)
    try:
        yield
    finally:
        told.close()


def _free_name(folder, name):
    """The name, or with the first number that no file of the folder has yet: a saved figure is never written over."""
    there = folder.glob("*") if folder.exists() else ()
    taken = {p.name.partition(".")[0] for p in there if not p.name.endswith(".values.json")}
    candidate, count = name, 1
    while candidate in taken:
        count += 1
        candidate = f"{name}-{count}"
    return candidate
