"""A sheet for each protocol of measurement: what for, what is needed, a drawing, steps, and lines for the readings."""
from pathlib import Path

from kit.base import tables, words
from kit.study import protocols
from kit.workshop.paper import BOLD, FREE, fill_in, gap, heading, paragraph, pdf, ruled, sketch

WIDE, HIGH = 180, 38   # mm, of a drawing
LEVER = (("circle", 40, 18, 5), ("line", 40, 18, 110, 18), ("text", 14, 17, "the work"), ("text", 64, 20, "arm"))
DRAWINGS = {
    "pull": (("line", 12, 4, 12, 34), ("text", 2, 0, "fixed hook"), ("line", 12, 20, 40, 20), ("box", 40, 16, 22, 8),
             ("text", 43, 19, "balance"), ("line", 62, 20, 110, 20), ("arrow", 110, 20, 135, 20),
             ("text", 138, 19, "pull as when bowing")),
    "stall": (*LEVER, ("line", 110, 18, 110, 12), ("box", 104, 2, 12, 10), ("text", 119, 5, "bucket, water"),
              ("arrow", 33, 24, 22, 32), ("text", 4, 33, "bow")),
    "tension": (("line", 20, 10, 20, 24), ("line", 120, 10, 120, 24), ("line", 20, 24, 120, 24),
                ("arrow", 20, 30, 120, 30), ("arrow", 120, 30, 20, 30), ("text", 60, 32, "free length L"),
                ("arrow", 70, 24, 70, 18), ("text", 74, 17, "pluck here, read the pitch"),
                ("text", 6, 4, "edges on which it lies")),
    "cord": (("circle", 60, 24, 9), ("line", 51, 24, 51, 10), ("line", 69, 24, 69, 6), ("box", 47, 4, 8, 6),
             ("box", 64, 0, 10, 7), ("text", 28, 6, "2 kg"), ("text", 78, 2, "sand, until it creeps"),
             ("text", 73, 28, "pulley, held fast; half a turn")),
    "strokes": (("line", 20, 20, 120, 20), ("arrow", 30, 26, 100, 26), ("arrow", 100, 14, 30, 14),
                ("text", 108, 25, "push"), ("text", 108, 12, "and pull: one stroke")),
    "torque": (*LEVER, ("box", 106, 20, 8, 12), ("arrow", 110, 20, 110, 34), ("text", 118, 26, "balance, at right "
               "angles to the lever")),
    "edge": (("line", 30, 8, 60, 8), ("line", 30, 8, 50, 30), ("line", 50, 30, 60, 8), ("line", 47, 27, 53, 24),
             ("arrow", 80, 28, 54, 26), ("text", 82, 27, "worn land: stop at 0.1 mm"), ("text", 30, 2, "edge, from the "
             "side, under the lens")),
    "lap-mass": (("box", 20, 4, 30, 6), ("text", 54, 5, "scale"), ("circle", 35, 17, 6), ("text", 46, 17, "sleeve, "
                 "washed, dry, cool"), ("text", 46, 28, "and one that is only washed, beside it")),
    "lap-plug": (("box", 60, 10, 40, 18), ("line", 20, 14, 80, 12.5), ("line", 20, 24, 80, 25.5),
                 ("line", 20, 14, 20, 24), ("text", 2, 30, "taper plug, with marks"), ("text", 104, 18, "sleeve"),
                 ("arrow", 40, 6, 58, 6), ("text", 62, 2, "how deep it goes, before and after")),
    "pinch": (("box", 20, 2, 60, 6), ("text", 84, 3, "kitchen scale"), ("box", 40, 8, 16, 5), ("box", 40, 14, 16, 5),
              ("text", 60, 10, "halves of a rod, card between"), ("arrow", 48, 34, 48, 20),
              ("text", 52, 28, "finger; the thumb below the table's top")),
    "hold": (*LEVER, ("box", 30, 8, 20, 20), ("line", 40, 23, 40, 30), ("text", 24, 31, "a line across work and clamp"),
             ("arrow", 110, 18, 110, 34), ("text", 114, 26, "pull until the line breaks")),
    "push": (("line", 20, 2, 20, 34), ("text", 6, 35, "wall"), ("box", 20, 8, 6, 24), ("text", 22, 2, "scale on edge"),
             ("arrow", 90, 20, 28, 20), ("text", 94, 19, "push as at the drill")),
    "thrust": (("box", 30, 2, 50, 6), ("text", 84, 3, "kitchen scale, set to nought"), ("box", 45, 8, 20, 10),
               ("text", 68, 11, "work, with a fence beside it"), ("line", 55, 18, 55, 34), ("arrow", 62, 34, 62, 22),
               ("text", 66, 28, "feed by a nut, or count turns")),
    "drift": (("box", 50, 10, 60, 16), ("line", 20, 18.6, 50, 18.3), ("line", 110, 17, 145, 14),
              ("text", 60, 17, "blank, on its collars"), ("text", 10, 22, "pin"), ("text", 132, 20, "pin: half its "
              "swing"), ("line", 56, 10, 52, 4), ("line", 56, 10, 60, 4), ("line", 104, 10, 100, 4),
              ("line", 104, 10, 108, 4), ("text", 62, 3, "two vees")),
    "fall": (("box", 60, 2, 14, 28), ("line", 58, 2, 76, 2), ("box", 61, 16, 12, 12), ("arrow", 90, 30, 90, 12),
             ("text", 94, 20, "30 mm of fall, timed"), ("text", 78, 1, "far end stopped"), ("text", 30, 21, "plunger")),
    "oversize": (("box", 30, 8, 40, 20), ("circle", 50, 18, 6), ("text", 74, 22, "hole: the largest plug that enters,"),
                 ("text", 74, 16, "the smallest that does not"), ("text", 74, 8, "beside it: the tool, measured "
                 "across")),
}


def sheet(name):
    """Bytes of the PDF of a protocol. Raises tables.TableError for one that is not there."""
    each = protocols.protocol(name)
    things, labels = "; ".join(each.needs), "; ".join(mark[3] for mark in DRAWINGS[name] if mark[0] == "text")
    steps = [[paragraph(str(i), 10, BOLD), paragraph(step, 10)] for i, step in enumerate(each.steps, 1)]
    heads, columns = zip(*each.columns)
    width = 168 / len(heads)
    typed = [["", *(paragraph(f"column {name}" if name else "–", 7) for name in columns)]] if any(columns) else []
    story = [
        *heading(each.title, each.purpose),
        fill_in(("date", 50), ("who", 60), ("where", 70)), gap(1),
        paragraph(f"Needed: {things}.", 10, after=1.5),
        sketch(DRAWINGS[name], WIDE, HIGH, alt=f"line drawing, with the words: {labels}"), gap(1.5),
        ruled(None, steps, (8, 174), size=10), gap(1.5),
        paragraph(f"Time: {words.exact(60 * each.set_up_h)} min to set up, {words.exact(60 * each.each_h)} min a "
                  f"reading; "
                  f"{words.counted(each.repeats, 'reading', spelt=True)} are usual. Error to expect: {each.error}.", 10,
                  after=1),
        paragraph(f"How the kit reads it: {each.read_by}.", 10, after=1),
        *([ruled(None, [["key", each.key]], (14, 100), size=9), gap(1)] if each.key else []),
        paragraph(f"Care: {each.cautions} Local rules and qualified supervision come first.", 10, BOLD, after=1),
        *([paragraph(f"{each.note[0].upper()}{each.note[1:]}.", 9, after=1)] if each.note else []),
        ruled(["", *heads], typed + [[str(i)] + [FREE] * len(heads) for i in range(1, each.repeats + 3)],
              (14, *[width] * len(heads)), height=7)]
    return pdf(each.title, "Hours and errors are judgement, no published source.", story)


def write(folder, names=(), overwrite=False):
    """Write the sheets of protocols as PDF into a folder, of all where no names are given; their paths.

    Raises FileExistsError where one is there already and overwrite is not given (nothing is written then), and
    tables.TableError for a name that is not there.
    """
    made = {f"protocol-{name}.pdf": sheet(name) for name in names or protocols.protocols()}
    folder = Path(folder)
    if there := [name for name in made if (folder / name).exists() and not overwrite]:
        raise FileExistsError(f"{folder}: {', '.join(there)} there already, and nothing was written; choose another "
                              "folder, or say that they may be replaced: --overwrite, in Python overwrite=True")
    folder.mkdir(parents=True, exist_ok=True)
    return [tables.put(folder / name, content) for name, content in made.items()]
