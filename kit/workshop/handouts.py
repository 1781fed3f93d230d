"""Printable handouts of a workshop session, as PDF: sheets for learners, for the leader, and for the host.

A4, black on white, fonts embedded, no dates: the same inputs give the same bytes. What the sheets say stands in tables
(data/session), where a leader may change it; what they work out comes from the study. A sheet is a function that returns
the bytes of its PDF; `write` puts them all into a folder. Answers stand on the leader's second page and nowhere else.
"""
import functools
import io
import math
import operator
from pathlib import Path
from xml.sax.saxutils import escape

from kit import study as studies
from kit.base import evidence, tables
from kit.estimates import trials
from kit.workshop import answers, groupfile, nomogram, session
from kit.publish.report import BOLD, FONT, ITALIC, fonts
from kit.base.units import number

SESSION = tables.DATA / "session"
LENGTHS = (90, 120, 150)                 # minutes
GROUP = 4                                # learners: maker, measurer, scribe, checker
STATIONS = ("ream", "turn", "lap")       # of the rounds; what is made there is measured together afterwards
CARDS = (*STATIONS, "measure")
DRAWS, SEED = 2**12, 1


# --- what a session needs ---------------------------------------------------------------------------------------------

@functools.cache
def _table(name):
    return tuple(tables.read(*tables.package(SESSION)[name]))


def _rows(name, live_lathe):
    """Rows of a session table that hold with a live lathe, or without one."""
    return [row for row in _table(name) if row["lathe"] in (None, "live" if live_lathe else "none")]


def _checked(people=1, minutes=150):
    try:
        people = operator.index(people)
    except TypeError:
        raise ValueError(f"people: expected a whole number, got {people!r}") from None
    if not 1 <= people <= 200:
        raise ValueError(f"people: {people} is no size for a session; give the number of learners, 1 to 200")
    if minutes not in LENGTHS:
        raise ValueError(f"minutes: a session lasts {', '.join(map(str, LENGTHS[:-1]))} or {LENGTHS[-1]}, not "
                         f"{minutes!r}")
    return people


def groups(people):
    """Number of groups: four learners each, the last maybe fewer."""
    return math.ceil(_checked(people=people) / GROUP)


def timing(minutes=150, live_lathe=True):
    """The blocks of a session that lasts so many minutes: a list of dicts with block, start, minutes, do, kit_gives.

    minutes: 90, 120 or 150. start: minutes from the beginning. The lengths are an assumption of this kit.
    """
    _checked(minutes=minutes)
    found, start = [], 0
    for row in _rows("plan", live_lathe):
        lasts = row[f"minutes_{minutes}"]
        if lasts:
            found.append({"block": row["block"], "start": start, "minutes": lasts, "do": row["do"],
                          "kit_gives": row["kit_gives"] or ""})
            start += lasts
    return found


def rounds(minutes=150):
    """How many stations each group works at in a session that lasts so many minutes."""
    return sum(row["block"].startswith("Bench, round") for row in timing(minutes=minutes))


def sets(people=12):
    """Sets of the three stations that so many learners need."""
    return math.ceil(groups(people=people) / len(STATIONS))


def rotation(people=12, minutes=150, live_lathe=True):
    """Which group works where in each round: {group, from 1: (station, ...)}.

    Without a lathe the middle station gives none of the numbers that are predicted, so few groups begin at the others.
    """
    stations = STATIONS if live_lathe else ("ream", "lap", "turn")
    return {group + 1: tuple(stations[(group + turn) % len(stations)] for turn in range(rounds(minutes=minutes)))
            for group in range(groups(people=people))}


def amounts(people=12, live_lathe=True):
    """What to bring for so many learners: a list of dicts with item, amount (rounded up), unit, note."""
    n = groups(people=people)
    return [{"item": r["item"], "unit": r["unit"], "note": r["note"] or "",
             "amount": math.ceil(people * r["per_person"] + n * r["per_group"] + r["per_session"] - 1e-9)}
            for r in _rows("consumables", live_lathe)]


def _study(study, live_lathe):
    """The study of the session: as given, else the workshop piece, else the demo; without a lathe by its route 'by hand',
    where it has one."""
    if study is None:
        study = studies.load(groupfile.PIECE if groupfile.PIECE.exists() else studies.DEMO)
    elif not isinstance(study, studies.Study):
        study = studies.load(study)
    if not live_lathe and "by hand" in study.routes:
        study = study.with_(**{f"{_tube(study).name}.route": "by hand", "order": "outside first"})
    return study


def _tube(study):
    """The tube that the sheets are about: the first that is reamed and lapped, else the first."""
    return next((t for t in study.tubes if {"ream", "lap"} <= {s.operation for s in study.steps(t)}), study.tubes[0])


# --- laying out -------------------------------------------------------------------------------------------------------

MM = 72 / 25.4
A4 = 210 * MM, 297 * MM
MARGIN = 12 * MM
FREE = "  "   # a cell for the pencil
IN_FONT = ("FONTNAME", (0, 0), (-1, -1), FONT)   # of a table; without it an empty cell asks for a font that is not there


def _p(text, size=10, font=FONT, lead=1.3, after=0.0, marked=False, align=0):
    """A paragraph. marked: the text holds tags of its own (<b>, <i>) and is not escaped."""
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph
    fonts()
    style = ParagraphStyle("kit", fontName=font, fontSize=size, leading=lead * size, spaceAfter=after * MM,
                           alignment=align)
    return Paragraph(text if marked else escape(text), style)


def _head(title, *lines):
    """Title of a sheet and what is said below it."""
    return [_p(title, 16, BOLD, after=1.5)] + [_p(line, 10, after=1.5) for line in lines]


def _fill_in(*fields, height=11):
    """One line of fields to fill in, each (words, width in mm): the words, then a line for the pencil."""
    from reportlab.platypus import Table
    cells, widths, style = [], [], [IN_FONT, ("VALIGN", (0, 0), (-1, -1), "BOTTOM"),
                                    ("LEFTPADDING", (0, 0), (-1, -1), 0), ("RIGHTPADDING", (0, 0), (-1, -1), 0)]
    for words, width in fields:
        style.append(("LINEBELOW", (len(cells) + 1, 0), (len(cells) + 1, 0), 0.6, "black"))
        label = _text_width(words, 10) + 4
        cells += [_p(words, 10), "", ""]
        widths += [label, max((width - 3) * MM - label, 4 * MM), 3 * MM]
    return Table([cells], widths, [height * MM], style=style, hAlign="LEFT")


def _text_width(text, size, font=FONT):
    from reportlab.pdfbase import pdfmetrics
    fonts()
    return pdfmetrics.stringWidth(text, font, size)


def _grid(head, rows, widths, size=10, height=None, head_size=9):
    """A ruled table: head and rows of text (or ready paragraphs), widths in mm; height in mm of each row, where None as
    its text needs."""
    from reportlab.platypus import Table
    cells = [[c if not isinstance(c, str) else _p(c, head_size, BOLD, 1.2) for c in head]] if head else []
    cells += [[c if not isinstance(c, str) else _p(c, size, lead=1.25) for c in row] for row in rows]
    heights = None if height is None else ([None] if head else []) + [height * MM] * len(rows)
    style = [IN_FONT, ("GRID", (0, 0), (-1, -1), 0.5, "black"), ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
             ("LEFTPADDING", (0, 0), (-1, -1), 3),
             ("RIGHTPADDING", (0, 0), (-1, -1), 3), ("TOPPADDING", (0, 0), (-1, -1), 2),
             ("BOTTOMPADDING", (0, 0), (-1, -1), 3)]
    if head:
        style.append(("LINEBELOW", (0, 0), (-1, 0), 1.2, "black"))
    return Table(cells, [w * MM for w in widths], heights, repeatRows=1 if head else 0, style=style, hAlign="LEFT")


def _gap(mm):
    from reportlab.platypus import Spacer
    return Spacer(1, mm * MM)


def _break():
    from reportlab.platypus import PageBreak
    return PageBreak()


def _pdf(title, foot, story, wide=False):
    """Bytes of a PDF. foot: stands at the bottom of each page, before the page number."""
    from reportlab.platypus import SimpleDocTemplate
    fonts()
    held = io.BytesIO()
    document = SimpleDocTemplate(held, pagesize=A4[::-1] if wide else A4, leftMargin=MARGIN - 6, rightMargin=MARGIN - 6,
                                 topMargin=MARGIN - 6,
                                 bottomMargin=MARGIN, invariant=1, lang="en", initialFontName=FONT, title=title,
                                 author="",
                                 subject="handout of a workshop session")

    def footer(canvas, document):
        canvas.setFont(FONT, 8)
        canvas.drawString(MARGIN, 7 * MM, foot)
        canvas.drawRightString(document.pagesize[0] - MARGIN, 7 * MM, f"{title}, page {canvas.getPageNumber()}")

    document.build(story, onFirstPage=footer, onLaterPages=footer)
    return held.getvalue()


def _foot(study):
    return f"{study.title}{' (invented)' if study.invented else ''}"


def _mm(quantity, digits=2):
    return f"{quantity.m_as('mm'):.{digits}f}"


# --- sheets for learners ----------------------------------------------------------------------------------------------

def prediction_form(study=None, live_lathe=True):
    """Form on which a group writes its four predictions before any work, each low, best and high."""
    study = _study(study, live_lathe)
    tube = _tube(study)
    rows = [[_p(asked.question + (f" (0: {asked.nought})" if asked.nought else ""), 12),
             _p(answers.MICRO.get(asked.unit, asked.unit), 12), FREE, FREE, FREE] for asked in answers.ASKED.values()]
    story = _head("Prediction: before any metal moves") + [
        _fill_in(("group code", 60), ("time", 45), ("piece", 75)), _gap(3),
        _p(f"The piece: a tube of {study.part['alloy']}, bore {_mm(tube.bore)} mm, wall {_mm(tube.wall)} mm as "
           f"planned, {_mm(tube.length, 0)} mm long. "
           "Its way from blank to fit, and what is counted as made, stand on the stock-plan card.", 12, after=2),
        _p("For each number write what you think best, and a low and a high such that <b>nine times in ten</b> the "
           "true value lies between them. "
           "Nearly everybody's range is too narrow. Ask: at what value would we be surprised?", 12, marked=True,
           after=3),
        _grid(("what you will find", "unit", "low", "best", "high"), rows, (74, 22, 30, 30, 30), height=23,
              head_size=11), _gap(4),
        _p("The step that will be the hardest, and why:", 12, after=9), _fill_in(("", 186), height=2), _gap(3),
        _p("The assumption that our numbers lean on most:", 12, after=9), _fill_in(("", 186), height=2), _gap(5),
        _p("In ink. Hand it in before the bench; after that nothing is changed. A second thought goes on a second "
           "form, marked so.", 12, after=2),
        _fill_in(("handed in at", 60), ("received by (code)", 80))]
    return _pdf("Prediction form", _foot(study), story)


# Columns of the bench sheet: name in the bench log (kit.bench.schema), words, width in mm. What holds for the whole sheet is
# filled in once, at its head.
ONCE = (("trial", "trial no.", 34), ("date", "date", 40), ("tube", "piece", 62), ("operator", "group code", 52),
        ("substitute", "a modern tool or material in it? yes / no", 85))
COLUMNS = (("step", "step", 10), ("operation", "done", 19), ("tool", "tool or grain", 33),
           ("diameter_mm", "diameter / mm", 24), ("stock_mm", "taken off, on diameter / mm", 21),
           ("minutes", "minutes", 17), ("strokes", "strokes", 16), ("measured_mm", "measured / mm", 26),
           ("passes_mm", "plug that enters / mm", 20),
           ("stops_mm", "plug that does not / mm", 19), ("outcome", "success, partial or fail", 19),
           ("counted", "counts? yes / no", 17),
           ("remark", "remark: what failed, what surprised, why it does not count", 32))
FEWEST_ROWS = 9


def _tool(step):
    return step.tool.kind if step.tool else step.abrasive or {"turn": "turning tool", "file": "file"}[step.operation]


def bench_sheet(study=None, live_lathe=True):
    """Sheet for the bench: the steps of the route, and the columns of the bench log, so that it can be typed in as it is."""
    study = _study(study, live_lathe)
    steps = study.steps(_tube(study))
    rows = [[str(i), s.operation, _tool(s), "" if s.operation == "lap" else _mm(s.diameter)]
            for i, s in enumerate(steps, 1)]
    rows += [[]] * max(FEWEST_ROWS - len(rows), 2)
    rows = [row + [FREE] * (len(COLUMNS) - len(row)) for row in rows]
    head = [_p(f"<b>{escape(words)}</b>" + (f"<br/>{name}" if name != words else ""), 8, marked=True, lead=1.15)
            for name, words, _ in COLUMNS]
    story = _head("Bench sheet") + [
        _fill_in(*((words, width) for _, words, width in ONCE), height=9), _gap(2),
        _p("One sheet a piece, at each station the lines of its own steps. Every step as it happens, failures too; nothing "
           "is left out afterwards. Strokes: push and pull as one. Minutes: rests left out. "
           "Leave blank what was not measured. A step that is done again gets a new line.", 10, after=2),
        _grid(head, rows, [w for _, _, w in COLUMNS], size=11,
              height=max(9, min(13, 130 / len(rows))))]   # one page for all but the longest routes
    return _pdf("Bench sheet", _foot(study), story, wide=True)


def station_cards(live_lathe=True):
    """A card for each station of the bench, and one for measuring, in large print: what to do, step by step."""
    rows, story = _rows("stations", live_lathe), []
    for station in CARDS:
        mine = sorted((r for r in rows if r["station"] == station), key=lambda r: r["order"])
        story += [_p(mine[0]["title"], 24, BOLD, after=5),
                  _grid(None, [[_p(str(i), 18, BOLD), _p(r["do"], 18)] for i, r in enumerate(mine, 1)], (13, 173)),
                  _gap(5),
                  _p("Maker, measurer, scribe, checker: each knows their part before anything moves. Anybody may say "
                     "the stop word.", 14), _break()]
    return _pdf("Station cards", "Local rules and qualified supervision come first.", story[:-1])


MEASURED = ("tube: wall, thin side", "tube: wall, thick side", "pair: bore, near end", "pair: bore, far end",
            "pair: plunger, middle")   # ten minutes for two readers; which tube and pair, its card says


def measuring_sheet(study=None, live_lathe=True):
    """Sheet for two readers, three readings each: a half for each, to be folded apart, and a page that joins them."""
    from reportlab.platypus import HRFlowable
    study, story = _study(study, live_lathe), []
    for reader in "AB":
        story += [_p(f"Measuring sheet: reader {reader}", 14, BOLD, after=0.5),
                  _fill_in(("group code", 45), ("pieces", 50), ("gauge, and its smallest step / mm", 91), height=8),
                  _gap(1.5),
                  _grid(("all in mm", "1st", "2nd", "3rd", "mean", "spread"),
                        [[what] + [FREE] * 5 for what in MEASURED], (51, 27, 27, 27, 27, 27), size=11, height=16),
                  _gap(1.5), _p("Go through all the rows, then through all of them again, and a third time: no reading "
                                "straight after its like. "
                                "Mean: the three added, divided by 3. Spread: largest less smallest.", 9.5, after=1.5)]
        if reader == "A":
            story += [_gap(2), HRFlowable(width="100%", thickness=0.6, dash=(4, 3), color="black", spaceAfter=2),
                      _p("fold back here before reader B begins: B must not see what A wrote, nor A what B writes", 8,
                         ITALIC, align=1), _gap(2)]
    story += [_break(), *_head("Measuring sheet: both together", "Unfold. Copy the means; then work by hand. "
                         "0.001 mm is 1 µm. What your group did not make stays blank."),
              _grid(("all in mm", "mean of A", "mean of B", "A less B", "mean of both", "larger spread"),
                    [[what] + [FREE] * 5 for what in MEASURED],
                    (51, 27, 27, 27, 27, 27), size=11, height=12), _gap(4),
              _grid(None, [[_p(words, 11), FREE] for words in (
                  "clearance on diameter = bore (mean of both ends) less plunger, in µm; 0 where it does not go in",
                  "taper of the bore = near end less far end, in µm",
                  "how far the bore is off the middle = (thick side less thin side) / 2, in µm",
                  f"mean of all {2 * len(MEASURED)} spreads, in µm",
                  "times 0.6: standard deviation of one reading by one reader, in µm (three readings, normal scatter)",
                  "largest difference between A and B, in µm")], (136, 50), height=11.5), _gap(4),
              _p("What was predicted, and what was found", 12, BOLD, after=1),
              _grid(("", "our low", "our high", "found", "inside? yes / no"), [[what] + [FREE] * 4 for what in (
                  "wall at its thinnest place / mm", "strokes of all the reaming", "minutes of it, rests left out",
                  "clearance on diameter / µm")],
                    (74, 28, 28, 28, 28), size=11, height=10), _gap(4),
              _p("A clearance smaller than three times the scatter of one reading is not measured, only guessed: say "
                 "so in the verdict.", 12)]
    return _pdf("Measuring sheet", _foot(study), story)


def stock_plan_card(study=None, live_lathe=True):
    """Card with the claim and the route of the tube, step by step: diameters before and after, stock on diameter, tool,
    feed, drive."""
    study = _study(study, live_lathe)
    tube = _tube(study)
    rows = []
    for i, s in enumerate(study.steps(tube), 1):
        if s.operation == "lap":
            taken = (f"{s.stock_on_diameter.m_as('um'):.0f} µm" if s.stock_on_diameter is not None else
                     "what is left")
            unit = "h" if s.hours.m_as("h") >= 1 else "min"
            how = (f"pressed by about {number((s.pressure * tube.bore * tube.length).m_as('N'), 2)} N, at most "
                   f"{number(s.hours.m_as(unit), 2)} {unit}")
        else:
            taken = f"{abs((s.diameter - s.before).m_as('mm')):.2f}"
            how = f"cut {_mm(s.depth)} mm deep" if s.depth is not None else ""
        rows.append([str(i), s.operation, _tool(s), _mm(s.before), _mm(s.diameter), taken,
                     f"{s.feed.m_as('mm'):.2f}" if s.feed is not None else "", s.drive, how])
    shop = study.workshop
    bows = any(s.drive == "bow" for s in study.steps(tube))
    pulley = f"Pulley {_mm(shop.pulley, 0)} mm to the cord's middle, cord {shop.wrap.m_as('turn'):g} turns round it. "
    story = _head(f"Stock-plan card: {tube.name}") + [
        _p(f"A tube of {study.part['alloy']}: bore {_mm(tube.bore)} mm, wall {_mm(tube.wall)} mm, outside "
           f"{_mm(tube.outside)} mm, {_mm(tube.length, 0)} mm long; "
           f"clearance wanted {tube.clearance.m_as('um'):.0f} µm on diameter.", 13, after=2),
        _grid(("step", "do", "tool or grain", "before / mm", "after / mm", "stock on diameter / mm", "feed a turn / mm",
               "drive", "how"),
              rows, (14, 20, 56, 27, 27, 33, 25, 32, 39), size=12, head_size=11), _gap(3),
        _p(pulley + "Stock on diameter: twice what the edge takes from one side. A pass takes length / feed turns" +
           ("; push and pull of the bow give, one way only, its way / (3.14 × pulley) of them" if bows else "") +
           ". The plan is a choice, not a rule: what is done otherwise is written down.", 12, after=3),
        _p("The claim. " + " ".join(study.claim.split()), 12, after=2),
        _p("It would be shown wrong if: " + " ".join(study.fails_if.split()), 12, after=2),
        *([] if study.use is None else [_p("Counted as made: the plunger goes in, with at most "
                                           f"{number(study.use['clearance_most'].m_as('um'), 2)} µm of clearance.", 12)])]
    return _pdf("Stock-plan card", _foot(study), story, wide=True)


def safety_brief(people=12, live_lathe=True):
    """The safety brief, line by line, and a list on which each person signs by code."""
    people = _checked(people=people)
    lines = [[_p(str(i), 12.5, BOLD), _p(row["say"], 12.5, lead=1.22)]
             for i, row in enumerate(_rows("safety", live_lathe), 1)]
    story = _head("Safety brief", "Read aloud before anything else, one line at a time. Local rules and qualified "
                                  "supervision come first.") + [
        _grid(None, lines, (12, 174)), _break(),
        *_head("Safety brief: sign-off", "A code, not a name: drawn from a bag, one each. The host keeps any list of "
                                         "names, as local rules ask."),
        _grid(("", "personal code", "group code", "heard, understood: mark", "may use: lathe / hand tools / watch"),
              [[str(i)] + [FREE] * 4 for i in range(1, people + 5)], (10, 38, 32, 48, 58), height=11), _gap(4),
        _fill_in(("brief read by (code)", 80), ("in charge of the workshop", 106))]
    return _pdf("Safety brief", "Local rules and qualified supervision come first.", story)


MOST_TRIED = 6   # pieces in the table of the verdict card


def verdict_card():
    """Card on which a group argues: a sentence to complete, the probability words with their numbers, a rival to be named."""
    names = dict.fromkeys(row["route"] for row in tables.load("rival_routes"))
    blank, small = "_" * 26, "_" * 9
    sentence = (f"With {blank} (tools, metal), {blank} (whose hands) made {small} of {small} pieces to {blank} (limit, "
                f"with unit). The true rate may lie between {small} and {small}. "
                f"The step that limits is {blank}. Under these inputs it is {blank} (word, with its number) that the "
                f"part was within reach. This leans most on {blank}, graded {small}{small}. "
                f"It does not exclude {blank} (rival), which would leave {blank} (trace).")
    mosts = (1.0, *(least for least, _ in evidence.LIKELIHOOD))
    words = [[word, f"{100 * least:.0f} to {100 * most:.0f} %"] for (least, word), most in zip(evidence.LIKELIHOOD, mosts)]
    intervals = [[str(n)] + [_rate(good, n) if good <= n else "" for good in range(MOST_TRIED + 1)]
                 for n in range(1, MOST_TRIED + 1)]
    story = _head("Verdict card") + [
        _fill_in(("group code", 60)), _gap(3), _p(sentence, 12.5, lead=1.9, after=4),
        _p("Words for a chance (Intergovernmental Panel on Climate Change, Guidance Note on Consistent Treatment of "
           "Uncertainties, 2010, table 1; "
           "they overlap there, here each chance gets the narrowest)", 9, after=1),
        _grid(None, words, (70, 34), size=11), _gap(4),
        _p("x of n pieces came out: the true rate, in %, lies between (95 %, Clopper and Pearson 1934). Left: n; "
           "above: x.", 9, after=1),
        _grid(("n", *map(str, range(MOST_TRIED + 1))), intervals, (12, *[24.8] * (MOST_TRIED + 1)), size=10), _gap(4),
        _p("Grades of evidence, the best first: " + "; ".join(grade.replace("-", " ") for grade in evidence.GRADES) + ".", 10,
           after=1.5),
        _p("Rivals to think of: " + "; ".join(names) + "; or one of your own.", 10, after=1.5),
        _p("Within reach is not the same as done: that it was made so needs finds, texts and traces.", 10)]
    return _pdf("Verdict card", "", story)


def _rate(good, n):
    low, high = trials.success_interval(successes=good, trials=n)
    return f"{100 * float(low):.0f} to {100 * float(high):.0f}"


def minute_card():
    """Four cards to a page: one thing learnt, one question still open."""
    from reportlab.platypus import Table
    card = [_p("Minute card", 13, BOLD, after=3), _p("One thing I have learnt:", 11, after=33),
            _p("One question that is still open:", 11, after=33), _p("group code:", 11)]
    grid = Table([[card, card], [card, card]], [93 * MM] * 2, [134 * MM] * 2,
                 style=[IN_FONT, ("INNERGRID", (0, 0), (-1, -1), 0.5, "black", None, (4, 3)),
                        ("VALIGN", (0, 0), (-1, -1), "TOP"), ("TOPPADDING", (0, 0), (-1, -1), 14),
                        ("LEFTPADDING", (0, 0), (-1, -1), 14)])
    return _pdf("Minute card", "Cut along the dashes. No names.", [grid])


# --- sheets for the leader and the host -------------------------------------------------------------------------------

def _clock(minutes):
    return f"{minutes // 60}:{minutes % 60:02d}"


def leaders_page(study=None, people=12, minutes=150, live_lathe=True):
    """What the leader runs the session from: page 1 timing, rotation and troubles; page 2, to be kept face down, the answers
    and what to print."""
    people, study = _checked(people=people, minutes=minutes), _study(study, live_lathe)
    n, several = groups(people=people), sets(people=people)
    blocks = [[f"{_clock(b['start'])}–{_clock(b['start'] + b['minutes'])}", f"{b['block']} ({b['minutes']} min)",
               b["do"], b["kit_gives"]] for b in timing(minutes=minutes, live_lathe=live_lathe)]
    alike = {}
    for group, way in rotation(people=people, minutes=minutes, live_lathe=live_lathe).items():
        alike.setdefault(way, []).append(str(group))
    turns = "; ".join(f"group{'s' if len(same) > 1 else ''} {', '.join(same)}: {', '.join(way)}"
                      for way, same in alike.items())
    short = rounds(minutes=minutes) < len(STATIONS)
    ready = ("ream: a drilled blank; " + ("turn: a reamed blank on its arbor; " if live_lathe else
                                          "turn: the pinned pulley; ")
             + "lap: a reamed tube, with a plunger that just does not enter")
    troubles = [[r["trouble"], r["do"]] for r in _rows("troubles", live_lathe)]
    try:
        found = session.expected(study, tube=_tube(study).name, draws=DRAWS, seed=SEED)
    except ValueError as fault:   # not every study is fit for it; the other sheets still are
        told = _p(f"Not predicted: {fault}", 10)
    else:
        told = _grid(("what", "unit", "low (5 %)", "middle", "high (95 %)", "most driven by"),
                     [[row["question"], answers.MICRO.get(row["unit"], row["unit"]),
                       *(number(row[k], 3) for k in ("low_5", "median", "high_95")), row["driven_by"]]
                      for _, row in found.iterrows()], (68, 17, 20, 20, 22, 39), size=9)
    story = [_p(f"Leader's page: {minutes} minutes, {people} learners in {n} group{'s' if n > 1 else ''}, "
                f"{'with' if live_lathe else 'without'} a live lathe", 12.5, BOLD, after=1),
             _grid(("time", "block", "do", "lies ready"), blocks, (21, 35, 87, 43), size=8, head_size=8), _gap(1.5),
             _p(f"Rotation. {turns}. {f'{several} sets of the three stations. ' if several > 1 else ''}"
                f"{'A range counts only where the group itself found the number; the board shows all. ' if short else ''}"
                f"Lies prepared for each group, at {ready}. A trained person stands at each "
                f"{'lathe' if live_lathe else 'station'}. Codes are drawn from a bag; no names are kept.", 8.5, after=1.5),
             _grid(("what goes wrong", "what to do"), troubles, (66, 120), size=8, head_size=8), _break(),
             *_head("Leader's page 2: face down until all predictions are in"),
             _p(f"What the study predicts ({DRAWS} draws, seed {SEED}). Nine draws in ten lie between low and high.",
                10, after=1),
             told, _gap(2),
             _p("A range that holds the measured value is a hit; of good 90 % ranges nine in ten hit. Count hits over "
                "all groups and all four numbers. "
                "These are predictions under the study's assumptions, not the truth: the bench is. The notebook "
                "12_session_leader draws all groups beside them. "
                "0 µm of clearance: the plunger does not go in yet when the lapping ends.", 10, after=4),
             _p("To print", 12, BOLD, after=1),
             _grid(("sheet", "copies", "for"), [[name, str(copies), whom] for name, copies, whom in printing(people=people, minutes=minutes)],
                   (60, 22, 104), size=9)]
    return _pdf("Leader's page", _foot(study), story)


def printing(people=12, minutes=150):
    """How many copies of each sheet: a list of (sheet, copies, for whom)."""
    n, several = groups(people=people), sets(people=people)
    return [("prediction-form", n + 1, "one a group, one spare"),
            ("bench-sheet", n * rounds(minutes=minutes) + 2, "one a group and round, two spare"),
            ("station-cards", several, "one card at each station, one where it is measured"),
            ("measuring-sheet", n + 1, "one a group, one spare; on two sheets, not back to back"),
            ("stock-plan-card", n + len(STATIONS) * several, "one a group, one a station"),
            ("nomogram", n, "one a group, at full size (100 %)"),
            ("verdict-card", n, "one a group"),
            ("minute-card", math.ceil(people / 4), "to be cut in four"),
            ("safety-brief", 1, "for the leader, and to be hung up"),
            ("leaders-page", 1, "for the leader: two sheets, not back to back"),
            ("consumables", 1, "for whoever packs"),
            ("risk-assessment", 1, "to be worked through with the host"),
            ("laptops", 1, "for whoever prepares them")]


def _several(unit, amount):
    return unit + "s" if len(unit) > 2 and amount != 1 else unit   # a word, not g or mL


def consumables(people=12, live_lathe=True):
    """List of what to bring, with amounts for so many learners."""
    n = groups(people=people)
    story = _head(f"To bring for {people} learner{'s' if people > 1 else ''} in {n} group{'s' if n > 1 else ''}, "
                  f"{'with' if live_lathe else 'without'} a live lathe",
                  "All amounts are an assumption of this kit: change them in data/session/consumables.csv when you "
                  "have run it once.") + [
        _grid(("item", "amount", "note", "packed"), [[r["item"], f"{r['amount']} {_several(r['unit'], r['amount'])}",
                                                      r["note"], ""] for r in amounts(people=people, live_lathe=live_lathe)],
              (68, 27, 75, 16), size=8.5)]
    return _pdf("Consumables", "", story)


BLANK_RISKS = 4


def risk_assessment(live_lathe=True):
    """Form to be filled in with the host: hazard, harm and usual cautions are given; who, what is left to do and by whom
    are not."""
    rows = [[r["hazard"], r["harm"], FREE, r["usual_cautions"], FREE, FREE] for r in _rows("risks", live_lathe)]
    widths = (46, 46, 33, 73, 44, 31)
    story = _head("Risk assessment, to be filled in with the host") + [
        _p("A beginning, not a certificate. It is incomplete by nature and knows nothing of your room, your people or "
           "your law. Local codes, the host's rules and the judgement "
           "of those licensed or qualified to make it come first and replace what stands here wherever they differ. "
           "Work that local rules keep for licensed people is left to them.", 10, after=2),
        _fill_in(("place", 90), ("day", 50), ("people, ages", 80)), _fill_in(("person in charge at the host", 130),
                                                                             ("first aid, and where", 90)),
        _fill_in(("local rules that apply, and where they are kept", 260)), _fill_in(("", 260)), _gap(3),
        _grid(("hazard", "harm", "who may be hurt", "usual cautions", "left to do here", "by whom, by when"), rows,
              widths, size=9, head_size=9),
        _grid(None, [[FREE] * 6] * BLANK_RISKS, widths, height=12), _gap(1),
        _fill_in(("agreed for the host", 110), ("agreed for the session", 110)),
        _fill_in(("to be looked at again when", 200))]
    return _pdf("Risk assessment", "Local codes and licensed practice come first.", story, wide=True)


def laptop_sheet():
    """How to prepare laptops that will have no internet, with the commands to type."""
    rows = []
    for i, row in enumerate(_table("laptops"), 1):
        typed = "<br/>".join(f"<b>{escape(line)}</b>" for line in (row["command"] or "").split(" // "))
        rows.append([str(i), [_p(row["do"], 11, after=1)] + ([_p(typed, 9.5, marked=True)] if row["command"] else [])])
    story = _head("Laptops without internet", "Done the day before, by one person, for all of them. On Windows write "
                                              "py for python3 and .venv\\Scripts\\ for .venv/bin/.") + [
        _grid(None, rows, (10, 176)), _gap(4),
        _p("Serving the session as a page instead (kiosk): the server asks a public host for an icon font; without "
           "internet the icons are missing and nothing else.", 10)]
    return _pdf("Laptops without internet", "", story)


# --- writing them all -------------------------------------------------------------------------------------------------

def sheets(study=None, people=12, minutes=150, live_lathe=True):
    """All sheets: {file name: bytes of its PDF}. Arguments as in `write`."""
    people, study = _checked(people=people, minutes=minutes), _study(study, live_lathe)
    about, host = {"study": study, "live_lathe": live_lathe}, {"people": people, "live_lathe": live_lathe}
    made = {"prediction-form": prediction_form(**about), "bench-sheet": bench_sheet(**about),
            "station-cards": station_cards(live_lathe=live_lathe), "measuring-sheet": measuring_sheet(**about),
            "stock-plan-card": stock_plan_card(**about), "nomogram": nomogram.sheet(), "verdict-card": verdict_card(),
            "minute-card": minute_card(), "safety-brief": safety_brief(**host),
            "leaders-page": leaders_page(**about, people=people, minutes=minutes), "consumables": consumables(**host),
            "risk-assessment": risk_assessment(live_lathe=live_lathe), "laptops": laptop_sheet()}
    return {f"{name}.pdf": content for name, content in made.items()}


def write(folder, study=None, people=12, minutes=150, live_lathe=True, overwrite=False):
    """Write every sheet as a PDF into a folder; returns their paths.

    folder: made where it is not there. study: a Study or its folder; where None the workshop piece, else the demo; the
    sheets show the first tube that is reamed and lapped. people: number of learners. minutes: 90, 120 or 150. live_lathe: False for a session in
    which nothing turns by bow. overwrite: whether files of the same names may be replaced.
    Each file appears whole or not at all.
    Raises FileExistsError where one is there already and overwrite is not given (nothing is written then), ValueError for
    senseless people or minutes, OSError, in words, where the folder cannot be written to.
    """
    folder, made = Path(folder), sheets(study=study, people=people, minutes=minutes, live_lathe=live_lathe)
    there = [name for name in made if (folder / name).exists()]
    if there and not overwrite:
        raise FileExistsError(f"{folder}: {', '.join(there)} {'is' if len(there) == 1 else 'are'} there already, and "
                              f"nothing was written; "
                              "choose another folder, or say overwrite=True")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        return [tables.put(folder / name, content) for name, content in made.items()]
    except OSError as error:
        raise type(error)(f"{folder}: cannot write there ({error.strerror or error}); choose another folder, or ask "
                          f"for the right to write in this one") from error
