"""The page that a figure is printed on: widths, style and hues, axes with room for their labels, and its files.

Widths are those of journals (90, 140, 190 mm, or any from 80 to 190.5), text 8 pt and never under 7, lines told apart
by style as well as hue and labelled where they run. On a page under 120 mm the label of a row stands above it instead
of at its left; names beside the axes are broken into lines that take no more than a quarter of any page. No pyplot: a
figure belongs to whoever asked for it, and none stays open.
"""
import functools
import inspect
import io
import numbers
import os
import re
from pathlib import Path

import matplotlib
import numpy as np
from matplotlib import patheffects
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import text_to_path
from matplotlib.ticker import FuncFormatter, LogLocator, NullLocator, ScalarFormatter

from kit.base import words
from kit.base.files import drafting
from kit.base.tables import nearest

# Colour-blind-safe hues of Okabe and Ito (2008) that keep 3:1 against white, as lines need; for words, which need
# 4.5:1, the same hues darkened
BLUE, VERMILION, GREEN, PURPLE, BLACK = "#0072B2", "#D55E00", "#009E73", "#CC79A7", "#000000"
INK = {BLUE: BLUE, VERMILION: "#BE5300", GREEN: "#00845F", PURPLE: "#A15E83", BLACK: BLACK}
GREY = "0.57"   # the lightest that keeps 3:1
DOTS = ((0, (1, 3)), (0, (8, 2)))   # more dashes, where many lines are told apart
HUES, STYLES = (BLUE, VERMILION, GREEN, PURPLE, BLACK), ("-", "--", "-.", ":", (0, (5, 1, 1, 1, 1, 1)))
WIDTHS = {"single": 90, "mid": 140, "full": 190}   # mm: one column, one and a half, the page
LEAST_WIDTH, MOST_WIDTH, LEAST_HEIGHT, MOST_HEIGHT = 80, 190.5, 25, 222   # mm
NARROW = 120      # mm: on a page less wide, labels of rows stand above them
LINE = 3.1        # mm from line to line of 7 pt text
MM = 1 / 25.4
FONT = "DejaVu Sans"   # comes with matplotlib, so a figure looks the same on every machine
# SVG: letters as outlines, for the labels are fitted to this font and another would make them touch; PDF: as letters,
# with the font inside, for those who want to search or edit them
STYLE = {"font.family": FONT, "font.size": 8, "axes.labelsize": 8, "xtick.labelsize": 8, "ytick.labelsize": 8,
         "axes.linewidth": 0.6, "lines.linewidth": 1.0, "xtick.major.width": 0.6, "ytick.major.width": 0.6,
         "axes.spines.top": False, "axes.spines.right": False,
         "text.hinting": "no_hinting",   # letters as wide on a screen as in print: what fits the one fits the other
         "text.parse_math": False,       # a name with two $ in it is a name
         "pdf.fonttype": 42, "svg.fonttype": "path", "svg.hashsalt": "ancient-method-kit"}


# --- the page -----------------------------------------------------------------------------------------------------

def check_page(width=NARROW, height=LEAST_HEIGHT):
    """Raises ValueError for a width or height, mm, that no page has."""
    for name, value, low, high, why in (
            ("width", width, LEAST_WIDTH, MOST_WIDTH, "journals print 90, 140 or 190"),
            ("height", height, LEAST_HEIGHT, MOST_HEIGHT, "what a page holds with its caption")):
        if not isinstance(value, numbers.Real) or not low <= value <= high:
            raise ValueError(f"{name}: {value!r}; give a number of mm from {low} to {high} ({why})")


def styled(draw):
    """Decorator: the function draws in the kit's style, whatever the caller's settings are, and on a page that can be
    printed: a width outside 80 to 190.5 mm, or a height outside 25 to 222 mm, is a ValueError. The figure carries, as
    `made_by`, the name by which the function is to be had."""
    signature, module = inspect.signature(draw), draw.__module__.rpartition(".")[2]
    made_by = f"kit.{'figures' if module.endswith(('_figure', '_figures')) else module}.{draw.__name__}"

    @functools.wraps(draw)
    def drawn(*args, **kwargs):
        given = signature.bind(*args, **kwargs)
        given.apply_defaults()
        check_page(**{name: given.arguments[name] for name in ("width", "height") if name in given.arguments})
        with matplotlib.rc_context(STYLE):
            figure = draw(*args, **kwargs)
        figure.made_by = made_by
        return figure
    return drawn


class _Plain(ScalarFormatter):
    """Numbers along an axis without powers of ten or an offset, their digits in groups."""
    def __init__(self):
        super().__init__(useOffset=False)
        self.set_scientific(False)

    def __call__(self, value, position=None):
        return words.grouped(super().__call__(value, position))


def axes(width, height, left=14, right=3, bottom=11, top=3, **kwargs):
    """Figure and axes with margins in mm; a fixed rectangle draws fastest and does not jump while a slider moves."""
    figure = Figure(figsize=(width * MM, height * MM))
    ax = figure.add_axes((left / width, bottom / height, 1 - (left + right) / width, 1 - (bottom + top) / height),
                         **kwargs)
    for axis in (ax.xaxis, ax.yaxis):
        axis.set_major_formatter(_Plain())
    return figure, ax


@functools.lru_cache(maxsize=4096)
def in_mm(text, size=7, bold=False):
    """Width of a text on the page, mm; of its widest line."""
    font = FontProperties(family=FONT, size=size, weight="bold" if bold else "normal")
    return max(text_to_path.get_text_width_height_descent(line, font, False)[0]
               for line in text.split("\n")) / 72 * 25.4


def _cut(text, room, size=7, bold=False):
    """The text; letters are left out of its middle where it is wider than the room, mm."""
    text = text if len(text) < 400 else text[:200] + text[-200:]   # no page is so wide
    if in_mm(text, size, bold) <= room:
        return text

    def shown(kept):
        return text[:kept - kept // 3].rstrip() + "…" + text[len(text) - kept // 3:].lstrip()

    fits, beyond = 4, len(text)   # halved until they meet: letter by letter a long word took a third of a minute
    while beyond - fits > 1:
        middle = (fits + beyond) // 2
        fits, beyond = (middle, beyond) if in_mm(shown(middle), size, bold) <= room else (fits, middle)
    return shown(fits)


def in_lines(text, room, size=7, bold=False):
    """The words of a text in lines of at most `room` mm; a word that is wider is cut."""
    lines = []
    for word in (_cut(word, room, size, bold) for word in re.split("[ \n]+", text.strip(" \n")) if word):
        if lines and in_mm(f"{lines[-1]} {word}", size, bold) <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


@functools.lru_cache(maxsize=1024)
def wrapped(text, room, size=7, bold=False):
    """The text as it is where it fits the room, mm; else broken into as few lines as do, of about one length."""
    if in_mm(text, size, bold) <= room:
        return text
    lines = in_lines(text, room, size, bold)
    while (room > 5 and len(narrower := in_lines(text, room - 1, size, bold)) == len(lines)
           and "…" not in "".join(narrower)):
        lines, room = narrower, room - 1
    return "\n".join(lines)


def log_axis(axis):
    """Plain numbers on a log axis; more of them where it spans little."""
    low, high = axis.get_view_interval()
    axis.set_major_formatter(FuncFormatter(lambda value, _: words.exact(value)))
    at = (1, 1.5, 2, 3, 5, 7) if high / low < 8 else (1, 2, 5) if high / low < 200 else (1,)
    axis.set_major_locator(LogLocator(subs=at, numticks=9))
    _lesser_marks(axis)


def _lesser_marks(axis):
    """The marks between the numbers of an axis, all in one: a tick object each took a third of the time of a figure."""
    ax, (low, high) = axis.axes, axis.get_view_interval()
    places = [x for x in axis.get_minorticklocs() if low <= x <= high]
    axis.set_minor_locator(NullLocator())
    (width, height), box = ax.figure.get_size_inches(), ax.get_position()
    if axis is ax.xaxis:   # 2 pt, as ticks are
        where, marks = ax.get_xaxis_transform(), [((x, 0), (x, -2 / 72 / (height * box.height))) for x in places]
    else:
        where, marks = ax.get_yaxis_transform(), [((0, y), (-2 / 72 / (width * box.width), y)) for y in places]
    ax.add_collection(LineCollection(marks, colors=BLACK, linewidths=0.6, transform=where, clip_on=False),
                      autolim=False)


def thread(hue):
    """A thin line from a text to its place."""
    return {"arrowstyle": "-", "lw": 0.4, "color": hue, "shrinkA": 0, "shrinkB": 0}


def halo():
    return [patheffects.withStroke(linewidth=2.2, foreground="white")]


def write(ax, text, at, shift=(0, 0), within="axes fraction", size=7, **look):
    """A text at a place, in fractions of the axes unless `within` says otherwise, shifted by so many points."""
    return ax.annotate(text, at, xycoords=within, xytext=shift, textcoords="offset points", fontsize=size, **look)


def apart(middles, sizes, high):
    """Middles of things of those sizes, moved until they do not touch, in their order and all below `high`."""
    moved, order = np.array(middles, float), np.argsort(middles, kind="stable")
    for below, above in zip(order, order[1:]):
        moved[above] = max(moved[above], moved[below] + (sizes[below] + sizes[above]) / 2)
    for above in order[::-1]:
        moved[above] = min(moved[above], high - sizes[above] / 2)
        high = moved[above] - sizes[above] / 2
    return moved


# --- labels -------------------------------------------------------------------------------------------------------

def named_axes(width, height, names, left=14, bottom=11, top=3, **kwargs):
    """Figure, axes and {name: the name as it fits beside them}; the page grows where the names need more height."""
    beside = {name: wrapped(name, width / 4) for name in names}
    tall = bottom + top + LINE * sum(text.count("\n") + 1 for text in beside.values())
    height = min(max(height, tall), MOST_HEIGHT)
    return *axes(width, height, left, max(map(in_mm, beside.values()), default=0) + 5, bottom, top, **kwargs), beside


def name_at_right(ax, names):
    """Names in the right margin, at the height where what they name ends; moved apart, with a thin line to that height,
    where they would touch.

    names: {text: (y in data, hue)}. The limits of the axes stay as they are from here on.
    """
    ax.set(xlim=ax.get_xlim(), ylim=ax.get_ylim())
    to_axes, box = ax.transData + ax.transAxes.inverted(), ax.get_position()
    heights = np.clip([to_axes.transform((ax.get_xlim()[1], y))[1] for y, _ in names.values()], 0, 1)
    line = LINE * MM / (box.height * ax.figure.get_figheight())
    moved = apart(heights, [line * (text.count("\n") + 1) for text in names], 1 + line / 2)
    mm = MM / (box.width * ax.figure.get_figwidth())
    for (text, (_, hue)), height in zip(names.items(), moved):
        ax.text(1 + 2.8 * mm, height, text, transform=ax.transAxes, va="center", fontsize=7, color=INK.get(hue, hue))
    ax.add_collection(LineCollection([((1, a), (1 + 2 * mm, b)) for a, b in zip(heights, moved)],
                                     colors=[hue for _, hue in names.values()],
                                     linewidths=0.4, transform=ax.transAxes, clip_on=False), autolim=False)


def label_room(labels, width, size=7, bold=False):
    """mm at the left of the axes for the labels of rows, which may take over a third of the page, but no more of a wide
    one; a small margin on a narrow one."""
    if width < NARROW:
        return 5
    return min(max(in_mm(label, size, bold) for label in labels), 0.37 * min(width, WIDTHS["mid"])) + 3


def _in_a_row(label, room, most, size, bold):
    """A label in at most so many lines of the room, mm; letters are left out of the last where that does not do."""
    lines = wrapped(label, room, size, bold).split("\n")
    if len(lines) > most:
        lines = in_lines(label, room, size, bold)
        lines = [*lines[:most - 1], _cut(" ".join(lines[most - 1:]), room, size, bold)]
    return "\n".join(lines)


def rows_of(width, labels, beside=(), heading="", pitch=5.4, size=7, bold=None, bottom=11, top=6, **kwargs):
    """Figure and axes with a row a label, from the top down, and words beside it; on a narrow page both stand above.

    beside: a text a row. pitch: mm from row to row. bold: which label is so. A label that is too long for its room goes
    on in a second line, where the page is high enough. The page is as high as the rows need, or as it may be.
    """
    narrow, count = width < NARROW, len(labels)
    left = label_room(labels, width, size, bold is not None)
    right = 5 if narrow or not beside else min(max(*map(in_mm, beside), in_mm(heading)), 0.25 * width) + 3
    if narrow:
        beside = [_cut(re.sub(" +", " ", text.replace("\n", ", ")), 0.55 * width) for text in beside] or [""] * count
        rooms = [width - left - right - in_mm(text) - 3 for text in beside]
        pitch, two = max(pitch, 7.4), 7.4 + LINE
    else:
        rooms, two = [left - 2.5] * count, 2 * LINE + 0.8
    most = (MOST_HEIGHT - bottom - top) / count   # mm a row
    labels = [_in_a_row(label, room, 2 if two <= most else 1, size, bold is not None if not narrow else i == bold)
              for i, (label, room) in enumerate(zip(labels, rooms))]
    pitch = min(max(pitch, two) if any("\n" in label for label in labels) else pitch, most)
    figure, ax = axes(width, bottom + top + pitch * count, left, right, bottom, top,
                      ylim=(count - 0.5, -0.8 if narrow else -0.6), **kwargs)
    rows = ax.get_yaxis_transform()
    if not narrow:
        ax.set_yticks(range(count), labels, fontsize=size)
        ax.tick_params(axis="y", length=0)
        at = 1 + 1.5 / (width - left - right)
        for i, text in enumerate(beside):
            ax.text(at, i, "\n".join(_cut(line, right - 2) for line in text.split("\n")), transform=rows, va="center",
                    fontsize=7)
        write(ax, heading, (at, 1), (0, 1), style="italic")
        if bold is not None:
            ax.get_yticklabels()[bold].set_fontweight("bold")
        return figure, ax
    ax.set_yticks([])
    ax.spines["left"].set_visible(False)
    above = dict(shift=(0, 6 if pitch > 7.4 else 5), within=rows, va="bottom",
                 bbox={"fc": "white", "ec": "none", "pad": 0})
    for i, (label, text) in enumerate(zip(labels, beside)):
        write(ax, label, (0, i), size=size, weight="bold" if i == bold else "normal", **above)
        write(ax, text, (1, i), ha="right", **above)
    write(ax, heading, (1, 1), (0, 1), ha="right", style="italic")
    return figure, ax


def words_along(ax, words, x=0.0, y=3.0):
    """Words one after another along the top left edge of the axes: (text, hue) each. x, y: mm from its corner."""
    for text, hue in words:
        write(ax, text, (0, 1), (x * 72 * MM, y), color=INK.get(hue, hue))
        x += in_mm(text) + 4


# --- files --------------------------------------------------------------------------------------------------------

def png(figure, dpi=110, note=None):
    """PNG bytes of a figure, for the page; note: text that is kept inside the file."""
    buffer = io.BytesIO()
    with matplotlib.rc_context(STYLE):
        figure.savefig(buffer, format="png", dpi=dpi, metadata={"Description": note} if note else None)
    return buffer.getvalue()


FORMATS = ("pdf", "svg", "png", "tiff")
DPI = 600


def save(figure, folder, name, caption=None, data=None, overwrite=False, alt=None, formats=("pdf", "svg", "png")):
    """Save a figure in its formats, with its caption (txt) and the data that drew it (CSV); list of paths.

    formats: of "pdf" (letters with their font inside), "svg" (letters as outlines), "png" and "tiff" (600 dots an inch,
    RGB without transparency, TIFF packed by LZW). alt: what the figure shows, for those who cannot see it; kept as the
    title of the SVG and, beside a caption, as `name.alt.txt`. A caption or data that is None is left out.
    The same figure gives the same bytes: no dates inside. All files are written in a folder of their own and put in
    place when every one is whole, so a fault leaves none or, at worst, some whole ones. Raises FileExistsError rather
    than lose a file, unless overwrite is True; ValueError for a format that is not known or a name that is none for a
    file.
    """
    for end in formats:
        if end not in FORMATS:
            raise ValueError(f"formats: {end!r} is not one that a figure is saved in; {nearest(end, FORMATS)}")
    if not name or Path(name).name != name or name == "..":
        raise ValueError(f"name: {name!r} must be the name of a file, without folder or ending")
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    words = {"txt": caption, "csv": None if data is None else data.to_csv(lineterminator="\n"),
             "alt.txt": None if caption is None else alt}
    words = {end: said.strip() + "\n" for end, said in words.items() if said is not None}
    paths = {end: folder / f"{name}.{end}" for end in (*formats, *words)}
    there = [path.name for path in paths.values() if path.exists()]
    if there and not overwrite:
        raise FileExistsError(f"{folder} holds {', '.join(there)} already; give another name, or say overwrite=True")
    with drafting(folder) as drafts:
        for end, path in paths.items():
            draft = Path(drafts, path.name)
            draft.write_bytes(words[end].encode() if end in words else printed(figure, end, alt))
            os.chmod(draft, 0o644)
        for path in paths.values():
            os.replace(Path(drafts, path.name), path)
    return list(paths.values())


def printed(figure, end, alt):
    """The figure's bytes in one format; made before any file is opened, so that a full disk is told as what it is."""
    buffer = io.BytesIO()
    with matplotlib.rc_context(STYLE):
        if end == "pdf":
            figure.savefig(buffer, format=end, metadata={"CreationDate": None})
        elif end == "svg":
            figure.savefig(buffer, format=end, metadata={"Date": None}
                           | ({"Title": alt.strip()} if alt is not None else {}))
        else:
            _dots(figure).save(buffer, format=end, dpi=(DPI, DPI),
                               **{"compression": "tiff_lzw"} if end == "tiff" else {})
    return buffer.getvalue()


def _dots(figure):
    """The figure as a PIL image of DPI dots an inch, from the canvas itself: packed once, when it is saved."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from PIL import Image   # comes with matplotlib
    canvas, dpi = figure.canvas, figure.dpi
    try:
        figure.dpi = DPI * (1 + 2e-5)   # a hair more: a part of a dot is left off, and 90 mm are 2125.98
        drawn = FigureCanvasAgg(figure)
        drawn.draw()
        return Image.fromarray(np.asarray(drawn.buffer_rgba())).convert("RGB")
    finally:
        figure.dpi = dpi
        figure.set_canvas(canvas)
