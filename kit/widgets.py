"""Notebook controls: sliders that carry a unit and the range the evidence supports, and a panel that redraws a figure.

A panel is an image fed from a figure that pyplot never sees: it repaints quickly, runs without a browser, and leaves
nothing open. What it shows is only ever what a plain function returned, so each panel has a static twin.
"""
import base64
from dataclasses import dataclass
from html import escape
from pathlib import Path

import ipywidgets

from kit import figures
from kit.units import Q, number


@dataclass(frozen=True)
class Shown:
    """What a panel shows and saves: the figure, its caption (which also stands as text below it), and the data that drew it."""
    figure: object
    caption: str
    data: object


def still(figure, alt, width=760):
    """The figure as a plain picture in the page, with its caption, which is also read to those who cannot see it: what a
    panel's static twin shows."""
    from IPython.display import HTML
    picture = base64.b64encode(figures.png(figure, dpi=150)).decode()
    return HTML(f"<figure style='margin:0'><img width='{width}' alt='{escape(alt, quote=True)}' src='data:image/png;base64,{picture}'>"
                f"<figcaption style='max-width:{width}px;font-style:italic'>{escape(alt)}</figcaption></figure>")


def slider(label, value, low, high, step, unit="", evidence=None):
    """A slider with an editable number, its unit in the label and, as (low, high), the range that the evidence supports.

    value, low, high, step: numbers in `unit`. The draw function of a panel receives the value as a Quantity.
    """
    named = f"{label} / {unit}" if unit else label
    held = f"{named}: evidence for {number(evidence[0])} to {number(evidence[1])}" if evidence else named
    made = ipywidgets.FloatSlider(value=value, min=low, max=high, step=step, description=held, readout_format=_places(step),
                                  style={"description_width": "initial"}, layout={"width": "95%"}, tooltip=held)
    made.unit = unit
    return made


def _places(step):
    text = f"{step:.10f}".rstrip("0")
    return f".{len(text.partition('.')[2])}f"


def choice(label, options, value=None):
    """A drop-down of words."""
    return ipywidgets.Dropdown(options=list(options), value=value or list(options)[0], description=label,
                               style={"description_width": "initial"}, layout={"width": "60%"})


def panel(draw, save_as=None, out="out", **controls):
    """Controls, figure and caption in one box; every move of a control calls `draw(**values)` and shows what it returns.

    draw: function of the controls' names that returns a Shown; sliders arrive as Quantities, choices as words.
    save_as: name of the files that the save button writes to the folder `out` (figure as PDF, SVG and PNG, caption,
    data); no button where None. A fault in `draw` is told in the page in plain words, and the last figure stays; a fault
    in the very first drawing is raised, so that a notebook that cannot work fails when it is run.
    """
    image = ipywidgets.Image(format="png", layout={"width": "auto", "height": "auto", "max_width": "100%", "max_height": "600px", "align_self": "flex-start"})
    words, shown = ipywidgets.HTML(), {}

    def values():
        return {name: Q(c.value, c.unit) if getattr(c, "unit", None) is not None else c.value for name, c in controls.items()}

    def redraw():
        result = draw(**values())
        image.value = figures.png(result.figure)
        shown["now"] = result
        words.value = f"<p style='max-width:760px;line-height:1.4'>{escape(result.caption)}</p>"

    def moved(_):
        try:
            redraw()
        except Exception as fault:   # raised from here it would end in a log that nobody reads
            named = "" if isinstance(fault, (ValueError, TypeError)) else f"{type(fault).__name__}: "
            words.value = f"<b>Cannot be shown with these values:</b> {escape(named + str(fault))}"

    def save(_):
        result = shown["now"]
        try:
            paths = figures.save(result.figure, out, _free_name(Path(out), save_as), result.caption, result.data)
            told.value = "Saved: " + ", ".join(escape(str(p)) for p in paths)
        except OSError as fault:
            told.value = f"<b>Not saved:</b> {escape(str(fault))}"

    for control in controls.values():
        control.observe(moved, "value")
    redraw()
    rows = [*controls.values(), image, words]
    if save_as:
        button, told = ipywidgets.Button(description="Save figure, caption and data", layout={"width": "auto"}), ipywidgets.HTML()
        button.on_click(save)
        rows += [ipywidgets.HBox([button, told])]
    box = ipywidgets.VBox(rows)
    box.add_class("kit-panel")
    return box


def progress(label):
    """A bar in the page for long work: give it as `progress=` to Study.sweep, map or assess. The notebook's stop button ends
    the work in order, with what is done so far."""
    from IPython.display import display
    bar = ipywidgets.IntProgress(description=label, style={"description_width": "initial"})
    display(bar)

    def tell(done, total):
        bar.max, bar.value = total, done

    return tell


def _free_name(folder, name):
    """The name, or with the first number that no file of the folder has yet: a saved figure is never written over."""
    taken, candidate, count = {p.stem for p in folder.glob("*")} if folder.exists() else set(), name, 1
    while candidate in taken:
        count += 1
        candidate = f"{name}-{count}"
    return candidate
