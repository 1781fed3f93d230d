"""The figure of where a number comes from: the claim, the criterion, the formulas and the assumptions, in boxes."""
import re

from matplotlib.collections import LineCollection
from matplotlib.patches import Rectangle

from kit.base import words
from kit.publish.page import BLACK, LINE, MOST_HEIGHT, axes, in_lines, in_mm, styled
from kit.study.trace import choices_said

PLAIN, THIN, HEAVY = (0.6, BLACK), (0.3, "0.5"), (1.8, BLACK)   # outlines of boxes: points, hue
PAD, BETWEEN = 1.0, 1.5   # mm: around the words of a box; from box to box


@styled
def trace(record, width=140):
    """Where a number comes from, in boxes joined by thin lines: the claim, the criterion, the formulas, the
    assumptions.

    The assumptions that matter are shown, the largest share of the variance of the log margin first, and the rest are
    folded into one box. The weakest that matters has a heavy outline and says so. Where the page would be too high,
    formulas say less, and more assumptions are folded.
    record: of Verdict.trace.
    """
    edge, step, gap = 1.0, 3.0, 7.0   # mm: to the edge, from a column's line to its boxes, between the columns
    full = width - 2 * edge
    half = (full - step - gap) / 2
    tube = ", ".join(filter(None, (record.criterion, record.tube, record.where)))
    choices = re.sub(r"(?<=\d) ", "\u00a0", choices_said(record.choices))   # no line ends before a unit
    asked, given = _spread(record.demand, record.unit), _spread(record.capacity, record.unit)
    said = [(tube, True, 2), (f"demand {asked}; capacity {given}", False, 3),
            (f"margin {_spread(record.margin)}; met with a chance of {words.chance(record.chance)}; "
             f"{words.draws(record.n, record.seed)}", False, 3),
            (f"the maker's choices: {choices}" if choices else "", False, 8)]
    claim, criterion = _box([(record.claim, False, 6)], full), _box(said, full)
    above = edge + 3 * (LINE + 1) + _stack([claim]) + _stack([criterion]) + 2 * BETWEEN
    room = MOST_HEIGHT - above - edge
    for detail in (3, 2, 1, 0):
        formulas = [_box([(words.key_label(f.name), True, 2), (f.says.replace("`", ""), False, detail),
                          (_source(f), False, max(detail, 1))], half) for f in record.formulas]
        formulas = formulas or [_box([("none: as given", False, 1)], half)]
        if _stack(formulas) <= room:
            break
    by_share = sorted(record.assumptions, key=lambda a: -a.share)
    # where hardly anything matters, the three that move it most
    for count in range(max(sum(a.matters for a in by_share), 3), -1, -1):
        shown = [a for i, a in enumerate(by_share) if i < count or a.weakest]
        assumptions = [_box(_what_it_says(a), half) for a in shown] + _folded([a for a in by_share if a not in shown],
                                                                              half)
        if _stack(assumptions) <= room:
            break
    assumptions = assumptions or [_box([("none: nothing is drawn", False, 1)], half)]
    outlines = [HEAVY if a.weakest else PLAIN if a.matters else THIN for a in shown] + [THIN]

    height = above + max(_stack(formulas), _stack(assumptions)) + edge
    figure, ax = axes(width, height, 0, 0, 0, 0, xlim=(0, width), ylim=(height, 0))
    ax.set_axis_off()
    spine, second = edge + 1, edge + step + half + gap   # where lines run down: at the left edge, between the columns
    y = edge
    for name, box in (("claim", claim), ("criterion; numbers are medians (5 % to 95 %)", criterion)):
        y = _column(ax, edge, y, full, name, [box], [PLAIN], step)[-1] + _high(box) / 2 + BETWEEN
    left = _column(ax, edge + step, y, half, "formulas and their sources", formulas, [PLAIN] * len(formulas))
    right = _column(ax, second, y, half, "assumptions", assumptions, outlines)
    middle = second - step
    lines = [((spine, edge + 2 * LINE), (spine, left[-1])), ((middle, min(left[0], right[0])),
                                                             (middle, max(left[-1], right[-1])))]
    lines += [((spine, at), (edge + step, at)) for at in left] + [((edge + step + half, at), (middle, at))
                                                                  for at in left]
    lines += [((middle, at), (second, at)) for at in right]
    ax.add_collection(LineCollection(lines, colors="0.4", linewidths=0.5, zorder=0), autolim=False)
    return figure


def _spread(quantiles, unit=""):
    return "\u00a0".join(filter(None, (words.ranged(*quantiles), words.unit(unit))))


def _source(of):
    return f"source: {of.source}".replace("`", "") if of.source else ""


def _what_it_says(a):
    """What the box of an assumption says: (text, bold, most lines) each."""
    feeds = "demand and capacity" if a.feeds == "both" else a.feeds
    return [("weakest that matters" if a.weakest else "", True, 1), (a.label, True, 2),
            (_spread((a.low, a.median, a.high), a.unit), False, 2),
            (f"{a.grade.replace('-', ' ')}; {words.percent(a.share)} of the variance; enters {feeds}", False, 3),
            (f"source: {a.cited or a.source}", False, 2)]


def _folded(rest, room):
    """One box for the assumptions that are not shown, or none."""
    if not rest:
        return []
    most = max(5, int(100 * max(a.share for a in rest)) + 1)
    carry, each = ("carry", " each") if len(rest) > 1 else ("carries", "")
    told = words.percent(most / 100).replace(" ", "\u00a0")
    return [_box([(f"and {len(rest)} that {carry} less than {told}{each}", False, 2)], room)]


def _box(parts, room):
    """The lines of a box as (text, bold), from parts of (text, bold, most lines)."""
    box = []
    for text, bold, most in parts:
        lines = in_lines(text, room - 2 * PAD, 7, bold)
        if len(lines) > most > 0:
            while in_mm(f"{lines[most - 1]} …", 7, bold) > room - 2 * PAD:
                lines[most - 1] = lines[most - 1].rpartition(" ")[0]
            lines[most - 1] += " …"
        box += [(line, bold) for line in lines[:most]]
    return box


def _high(box):
    return LINE * len(box) + 2 * PAD


def _stack(boxes):
    return sum(map(_high, boxes)) + BETWEEN * (len(boxes) - 1)


def _column(ax, x, y, room, heading, boxes, outlines, indent=0):
    """A column of boxes from (x, y) down, with its heading; the heights (mm) of their middles."""
    ax.text(x + indent, y + LINE - 0.5, heading, fontsize=7, style="italic")
    y, middles = y + LINE + 1, []
    for box, (wide, hue) in zip(boxes, outlines):
        ax.add_patch(Rectangle((x, y), room, _high(box), fc="white", ec=hue, lw=wide))
        for i, (text, bold) in enumerate(box):
            ax.text(x + PAD, y + PAD + LINE * (i + 0.75), text, fontsize=7, weight="bold" if bold else "normal")
        middles.append(y + _high(box) / 2)
        y += _high(box) + BETWEEN
    return middles
