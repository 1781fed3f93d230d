"""Controls of a notebook: sliders, choices, and the switches that hold for the whole of it.

Underneath, values stay in the notebook's own units, whatever the page shows them in; what is drawn stays the same.
"""
import math
import re
from html import escape

import ipywidgets
import traitlets

from kit.base import units, words
from kit.base.units import Q, ureg

INCH = {"mm": "inch", "um": "thou", "degC": "degF", "N": "lbf", "kPa": "psi"}   # what is shown instead, at a switch


WIDE = {"width": "760px", "max_width": "calc(100% - 4px)"}   # a control's margins counted: nothing scrolls sideways


class _Notebook(traitlets.HasTraits):
    """What holds for the whole notebook: whether sliders show and take inch, thou, °F, lbf, psi, and whether panels are
    large."""
    inch = traitlets.Bool(False)
    large = traitlets.Bool(False)


NOTEBOOK = _Notebook()


def larger(on=True):
    """Larger letters and pictures in every panel of the notebook, for a room with a projector; on=False: as before."""
    NOTEBOOK.large = on


def _named(unit):
    return "in" if unit == "inch" else words.unit(unit)


def _understood(text, unit, shown):
    """Plain number in `unit` of what was typed: '0.3', '0,3', '0.3 mm', '12 thou'; a bare number is in `shown`."""
    try:
        typed = units.read(re.sub(r"^\s*([-+]?\d*),(\d+)(?![\d.,])", r"\1.\2", text))
        return float((Q(typed.m, shown) if typed.units == ureg.Unit("") else typed).m_as(unit))
    except (ValueError, TypeError):   # pint's DimensionalityError is a TypeError
        example = f", or one with its unit, like 5 {_named(shown)}" if unit else ""
        raise ValueError(f"'{text.strip()}' is not understood here: write a number{example}") from None


class Slider(ipywidgets.VBox):
    """What `slider` makes. value: plain number in `unit`, one of the steps; start: the value that it began with."""
    value = traitlets.Float()

    def __init__(self, label, value, low, high, step, unit, evidence):
        self.label, self.low, self.high, self.step, self.unit, self.evidence = label, low, high, step, unit, evidence
        # the track keeps its own unit and its ends for good: given new ends, the page would move the handle to them,
        # and
        # send that back as if by hand
        self.track = ipywidgets.FloatSlider(value=value, min=low, max=high, step=step, readout=False,
                                            layout={"width": "auto"})
        self.box = ipywidgets.Text(continuous_update=False, style={"description_width": "initial"},
                                   layout={"width": "auto", "flex": "1 1 0"})
        self.back = ipywidgets.Button(description="Reset", layout={"width": "auto"})
        self.mark = ipywidgets.HTML(layout={"margin": "0"})
        super().__init__([ipywidgets.HBox([self.box, self.back]), self.track, self.mark])
        self.add_class("kit-slider")
        self.mark.add_class("kit-live")
        self.value = self.start = value
        if abs(self.value - value) > 1e-9 * step:
            told = words.with_unit(words.exact(value), unit)
            raise ValueError(f"{label}: {told} is none of the steps of {words.exact(step)} from {words.exact(low)} to "
                             f"{words.exact(high)}; begin on one")
        self._show()
        self.observe(lambda _: self._show(), "value")
        self.track.observe(self._slid, "value")
        self.box.observe(self._typed, "value")
        self.back.on_click(lambda _: self.set_trait("value", self.start))
        NOTEBOOK.observe(lambda _: self._show(), "inch")

    @traitlets.validate("value")
    def _on_a_step(self, proposal):
        at = self.low + self.step * round((proposal.value - self.low) / self.step)
        return min(max(round(at, 10), self.low), self.high)   # rounded: 0.1 + 0.2 is 0.3 here

    def read(self, text):
        """Plain number in `unit` that a text stands for; ValueError, in plain words, where it is none of these."""
        value = _understood(text, self.unit, self._shown)
        if not self.low - self.step / 2 <= value <= self.high + self.step / 2:
            raise ValueError(f"{text.strip()} is beyond {words.grouped(self._text(self.low))} to "
                             f"{self._with_unit(self.high)}")
        return value

    @property
    def _shown(self):
        """The unit that the page shows."""
        return INCH.get(self.unit, self.unit) if NOTEBOOK.inch else self.unit

    def _in_shown(self, value):
        return float(Q(value, self.unit).m_as(self._shown))

    def _text(self, value):
        if self._shown == self.unit:   # as many decimals as the steps have
            places = max(len(f"{x:.10f}".rstrip("0").partition(".")[2]) for x in (self.low, self.step))
        else:   # as many as tell one step from the next: what is shown, typed again, is the same step
            places = max(0, math.ceil(-math.log10(self._in_shown(self.low + self.step) - self._in_shown(self.low))))
        return f"{self._in_shown(value):.{places}f}"

    def _with_unit(self, value):
        return f"{words.grouped(self._text(value))} {_named(self._shown)}".rstrip()

    def _slid(self, _):
        self.value = self.track.value

    def _typed(self, _):
        typed = self.box.value
        if typed == self._text(self.value):   # written there by _show
            return
        try:
            value, told = self.read(typed), ""
            self.value = value
            rounded = self._shown == self.unit and abs(value - self.value) > 1e-6 * self.step
            if rounded or self._text(value) != self._text(self.value):
                told = f"{typed.strip()} lies between two steps; this is the nearest"
        except ValueError as fault:
            told = f"{fault}. It is still {self._with_unit(self.value)}"
        self._show(told)

    def _show(self, told=""):
        if abs(self.track.value - self.value) > 1e-3 * self.step:   # no answer to the hand that is moving it
            self.track.value = self.value
        self.box.description = f"{self.label} / {_named(self._shown)}" if self.unit else self.label
        self.box.value = self._text(self.value)
        self.back.tooltip = f"Reset {self.label} to {self._with_unit(self.start)}"
        self.mark.value = self._marked() + (f"<div>{escape(told)}</div>" if told else "")

    def _marked(self):
        """The strip under the track that the evidence covers, and its words."""
        if self.evidence is None:
            return ""
        low, high = self.evidence
        span = self.high - self.low
        left, right = (100 * (min(max(end, self.low), self.high) - self.low) / span for end in self.evidence)
        ends = (words.exact(float(self._text(end))) for end in (low, high))
        reach = f"{' to '.join(ends)} {_named(self._shown)}".rstrip()
        within = low - 1e-9 <= self.value <= high + 1e-9
        said = f"evidence for {reach}" if within else f"<b>outside the evidence</b>, which is for {reach}"
        strip = f"<i style='margin-left:{left:.1f}%;width:{right - left:.1f}%'></i>"
        return f"<div class='kit-strip'>{strip}</div><div>{said}</div>"


def slider(label, value, low, high, step, unit="", evidence=None):
    """A slider with a box to type in and a button back to where it began.

    value, low, high, step: numbers in `unit`. evidence: (low, high), what the evidence supports: marked under the
    slider, and said when it is left. The draw function of a panel receives the value as a Quantity. The box takes a
    comma for the point, and another unit of the same kind where one is written.
    Raises ValueError for a value that is no step of the slider.
    """
    return Slider(label, value, low, high, step, unit, evidence)


def around(label, start, low, high, step, unit="", evidence=None):
    """A slider that starts at a study's own value, whatever that is. start: a Quantity. low, high: widened where the
    start lies beyond them, to half of it and twice it; it begins on the nearest step. Others as `slider`."""
    value, step = start.m_as(unit), float(step)
    places = max(0, math.ceil(-math.log10(step) - 1e-9)) + 1
    if value < low:
        low = max(step, round(math.floor(value / 2 / step) * step, places))
    if value > high:
        high = round(low + math.ceil((2 * value - low) / step) * step, places)
    return slider(label, round(low + round((value - low) / step) * step, places), low, high, step, unit, evidence)


def choice(label, options, value=None):
    """Words to choose from: an open list where they are few, one to drop down where they are many."""
    options = list(options)
    kind, more = (ipywidgets.Select, {"rows": len(options)}) if len(options) <= 5 else (ipywidgets.Dropdown, {})
    return kind(options=options, value=options[0] if value is None else value, description=label,
                style={"description_width": "initial"}, layout={"width": "auto"}, **more)


def switch(label, name):
    """A box to tick for what holds in the whole notebook; name: "inch" or "large"."""
    box = ipywidgets.Checkbox(description=label, indent=False, layout={"width": "auto"})
    traitlets.link((NOTEBOOK, name), (box, "value"))
    return box
