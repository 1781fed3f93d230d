"""The sheets that learners get, none with answers: safety brief, prediction form, cards, bench sheet, measuring sheet.

A sheet is a function that returns the bytes of its PDF.
"""
from kit.base import evidence, words
from kit.base.units import told
from kit.estimates import trials
from kit.operations import settle
from kit.publish import drawings
from kit.study import instructions
from kit.workshop import answers, argument, programme
from kit.workshop.paper import (BOLD, FREE, fill_in, fold, gap, heading, page_break, paragraph, pdf, picture, quarters,
                                ruled, strong, title)
from kit.workshop.workpiece import study_of, title_of, tool_of, tube_of


def _mm(quantity):
    """As on a drawing: two decimals, one below the other."""
    return f"{quantity.m_as('mm'):.2f}"


# --- before the bench -------------------------------------------------------------------------------------------------

def safety_brief(people=12, live_lathe=True):
    """The safety brief, line by line, and a list on which each person signs by code."""
    people = programme.checked(people=people)
    lines = [[paragraph(str(i), 12.5, BOLD), paragraph(row["say"], 12.5, lead=1.22)]
             for i, row in enumerate(programme.rows("safety", live_lathe), 1)]
    story = [
        *heading("Safety brief", "Read aloud before anything else, one line at a time. Local rules and qualified "
                 "supervision come first."),
        ruled(None, lines, (12, 174)), page_break(),
        *heading("Safety brief: sign-off", "A code, not a name: drawn from a bag, one each. The host keeps any list of "
                 "names, as local rules ask."),
        ruled(("", "personal code", "group code", "heard, understood: mark", "may use: lathe / hand tools / watch"),
              [[str(i)] + [FREE] * 4 for i in range(1, people + 5)], (10, 38, 32, 48, 58), height=11), gap(4),
        fill_in(("brief read by (code)", 80), ("in charge of the workshop", 106))]
    return pdf("Safety brief", "Local rules and qualified supervision come first.", story)


def prediction_form(study=None, live_lathe=True):
    """Form on which a group writes its four predictions before any work, each low, best and high."""
    study = study_of(study, live_lathe)
    tube = tube_of(study)
    rows = [[paragraph(asked.question + (f" (0: {asked.nought})" if asked.nought else ""), 12),
             paragraph(words.unit(asked.unit), 12), FREE, FREE, FREE]
            for asked in answers.ASKED.values()]
    story = [
        *heading("Prediction: before any metal moves"),
        fill_in(("group code", 60), ("time", 45), ("piece", 75)), gap(3),
        paragraph(f"The piece: a tube of {study.part['alloy']}, planned with a bore of {words.planned(tube.bore)}, a "
                  f"wall of {words.planned(tube.wall)} and a length of {words.planned(tube.length)}. Its route from "
                  "blank to fit, and what counts as made, are on the stock-plan card.", 12, after=2),
        paragraph(["For each number write your best guess, and a low and a high such that ",
                   strong("nine times in ten"), " the true value lies between them. Nearly everybody's range is too "
                   "narrow. Ask: at what value would we be surprised?"], 12, after=3),
        ruled(("what you will find", "unit", "low", "best", "high"), rows, (74, 22, 30, 30, 30), height=23,
              head_size=11), gap(4),
        paragraph("The step that will be the hardest, and why:", 12, after=9), fill_in(("", 186), height=2), gap(3),
        paragraph("The assumption on which our numbers depend most:", 12, after=9), fill_in(("", 186), height=2),
        gap(5),
        paragraph("In ink. Hand it in before the bench; after that nothing is changed. Second thoughts go on a "
                  "second form, marked as such.", 12, after=2),
        fill_in(("handed in at", 60), ("received by (code)", 80))]
    return pdf("Prediction form", title_of(study), story)


# --- at the bench -----------------------------------------------------------------------------------------------------

CARDS = (*programme.STATIONS, "measure")
# of a station: what is drawn on its card, without anything that learners are asked
SKETCHES = {"ream": lambda study: drawings.tool(study, plain=True),
            "turn": lambda study: drawings.held(study, step="turn", plain=True),
            "lap": lambda study: drawings.lap(study, plain=True)}


def station_cards(live_lathe=True):
    """A card for each station of the bench, and one for measuring, in large print: a sketch of tool or hold, and what
    to do, step by step."""
    rows, story, study = programme.rows("stations", live_lathe), [], study_of(None, live_lathe)
    for station in CARDS:
        mine = sorted((r for r in rows if r["station"] == station), key=lambda r: r["order"])
        steps = [[paragraph(str(i), 16, BOLD), paragraph(r["do"], 16)] for i, r in enumerate(mine, 1)]
        drawn = station in SKETCHES and any(step.operation == station for step in study.steps(tube_of(study)))
        sketch = [picture(SKETCHES[station](study), 150), gap(1)] if drawn else []
        story += [title(mine[0]["title"], 24, 1, 3), *sketch, ruled(None, steps, (13, 173)), gap(5),
                  paragraph("Maker, measurer, scribe, checker: each knows their task before anything moves. Anybody "
                            "may say the stop word.", 14), page_break()]
    return pdf("Station cards", "Local rules and qualified supervision come first.", story[:-1])


def stock_plan_card(study=None, live_lathe=True):
    """Card with the claim and the route of the tube, step by step: diameters before and after, stock on diameter, tool,
    feed, drive."""
    study = study_of(study, live_lathe)
    tube = tube_of(study)
    rows = []
    for i, s in enumerate(study.steps(tube), 1):
        if s.operation == "lap":
            taken = (words.planned(s.stock_on_diameter.to("um")) if s.stock_on_diameter is not None else
                     "what is left")
            push = words.quantity((s.pressure * tube.bore * tube.length).to("N"), 2)
            how = f"pressed with {words.planned(s.pressure)}, about {push}; {_at_most(s)}, washing apart"
        else:
            taken = f"{abs((s.diameter - s.before).m_as('mm')):.2f}"
            how = f"cut {words.planned(s.depth)} deep" if s.depth is not None else ""
        rows.append([str(i), s.operation, tool_of(s), _mm(s.before), _mm(s.diameter), taken,
                     _mm(s.feed) if s.feed is not None else "", s.drive, how])
    shop = study.workshop
    bows = any(s.drive == "bow" for s in study.steps(tube))
    story = [
        *heading(f"Stock-plan card: {tube.name}"),
        paragraph(f"A tube of {study.part['alloy']}: bore {words.planned(tube.bore)}, wall {words.planned(tube.wall)}, "
                  f"outside {words.planned(tube.outside)}, length {words.planned(tube.length)}; clearance wanted "
                  f"{words.planned(tube.clearance.to('um'))} on diameter.", 13, after=2),
        ruled(("step", "operation", "tool or grain", "before / mm", "after / mm", "stock on diameter / mm",
               "feed a turn, as planned / mm", "drive", "how, as planned"), rows,
              (14, 26, 50, 27, 27, 33, 25, 32, 39), size=12, head_size=11),
        gap(3),
        paragraph(f"Pulley {words.planned(shop.pulley)} to the cord's middle, the cord "
                  f"{words.exact(shop.wrap.m_as('turn'))} times round it. Stock on diameter: twice what the edge takes "
                  "from one side. A pass takes length / feed turns" +
                  ("; push and pull of the bow together cut one way only: its travel one way / (3.14 × pulley) turns"
                   if bows else "") +
                  f". The plan is a choice, not a rule{_wider(study.steps(tube))}: whatever is done differently is "
                  "written down.", 12, after=3),
        paragraph("The claim. " + " ".join(study.claim.split()), 12, after=2),
        paragraph("The claim fails if: " + " ".join(study.fails_if.split()), 12, after=2)]
    if study.use is not None:
        story.append(paragraph("Counted as made: the plunger goes in, with a clearance of at most "
                               f"{words.planned(study.use['clearance_most'])}.", 12))
    return pdf("Stock-plan card", title_of(study), story, wide=True)


def _at_most(step):
    """How long a lap may take, as the plan grants it, washing apart."""
    granted = step.hours.to("h" if step.hours.m_as("h") >= 1 else "min")
    return f"at most {words.planned(granted)}"


def _wider(steps):
    """How far a maker may leave the plan by feel, where it allows that."""
    feeds = {f"{words.exact(s.feed_most.m_as('mm'))} mm" for s in steps if s.feed_most is not None}
    pressures = {words.planned(s.pressure_most) for s in steps if s.pressure_most is not None}
    allowed = [f"{what} of up to {' and '.join(sorted(most))}" for what, most in
               (("a feed", feeds), ("a pressure", pressures)) if most]
    return (f"; by feel, where it cuts freely and nothing grips, {' and '.join(allowed)} may be settled on"
            if allowed else "")


# Columns of the bench sheet: name in the bench log (kit.bench.schema), label, width in mm. What applies to the whole
# sheet is filled in once, at its head.
ONCE = (("trial", "trial no.", 34), ("date", "date", 40), ("tube", "piece", 62), ("operator", "group code", 52),
        ("substitute", "a modern tool or material in it? yes / no", 85))
COLUMNS = (("step", "step", 10), ("operation", "done", 19), ("tool", "tool or grain", 33),
           ("diameter_mm", "diameter / mm", 24), ("stock_mm", "taken off, on diameter / mm", 21),
           ("minutes", "minutes", 17), ("strokes", "strokes", 16), ("measured_mm", "measured / mm", 26),
           ("passes_mm", "plug gauge that enters / mm", 20), ("stops_mm", "plug gauge that does not / mm", 19),
           ("outcome", "success, partial or fail", 19), ("counted", "counts? yes / no", 17),
           ("remark", "remark: what failed, what surprised, why it does not count", 32))
FEWEST_ROWS = 9


def bench_sheet(study=None, live_lathe=True):
    """Sheet for the bench: the steps of the route, and the columns of the bench log, so that it can be typed into the
    log unchanged; on its second page what is settled at the bench, and a card for every tool."""
    study = study_of(study, live_lathe)
    rows = [[str(i), s.operation, tool_of(s), "" if s.operation == "lap" else _mm(s.diameter)]
            for i, s in enumerate(study.steps(tube_of(study)), 1)]
    rows += [[]] * max(FEWEST_ROWS - len(rows), 2)
    rows = [row + [FREE] * (len(COLUMNS) - len(row)) for row in rows]
    head = [paragraph([strong(label), f"\n{name}" if name != label else ""], 8, lead=1.15)
            for name, label, _ in COLUMNS]
    story = [
        *heading("Bench sheet"),
        fill_in(*((label, width) for _, label, width in ONCE), height=9), gap(2),
        paragraph("One sheet for each piece; at each station, fill in the lines of its steps. Write every step as it "
                  "happens, failures too; nothing is left out afterwards. Strokes: push and pull as one. Minutes: "
                  "rests left out. Leave blank what was not measured. A step that is repeated gets a new line.", 10,
                  after=2),
        ruled(head, rows, [w for _, _, w in COLUMNS], size=11,
              height=max(9, min(13, 130 / len(rows)))),   # one page for all but the longest routes
        page_break(), *_settled(study.only(tube_of(study).name))]
    return pdf("Bench sheet", title_of(study), story, wide=True)


DRAWS, SEED = 2**12, 1


def _settled(study):
    """What is settled at the bench for the tube of a study, and a card for every tool that has to be made for it."""
    route = study.steps(study.tubes[0])
    try:
        values = study.draws(DRAWS, SEED)
        with told():   # a verdict tells of what lies outside a formula's range
            steps = instructions.for_reading(instructions.instructions(study, values, settle.FEEL)).drop(columns="tube")
            cards = instructions.cards_for_reading(instructions.tools(study, values, settle.FEEL))
    except ValueError as fault:   # the other page does without
        return [paragraph(f"What is settled at the bench is not worked out: {fault}", 10)]
    steps.insert(1, "as planned", [_planned(s) for s in route])
    steps["step"] = [f"{i} {s.operation}, {tool_of(s)}" + ("" if s.operation == "lap" else f", {_mm(s.diameter)} mm")
                     for i, s in enumerate(route, 1)]
    steps.loc[[step.drive == "hand" for step in route], "turned by"] = "two hands"
    story = [
        *heading("What a practised maker settles on"),
        paragraph("The feed a turn and the pressure are settled by feel: as much as keeps something in hand. Beside "
                  "the plan's, this is where the study expects them to come to rest, and the time they cost, rests, "
                  f"stoning, clearing and washing counted: middle (and nine in ten; "
                  f"{words.draws(DRAWS, SEED)}). A guide, not a rule: whatever is "
                  "done is written down. Given out once all predictions are in.", 11, after=2),
        _across(steps, {"step": 61, "as planned": 44, "settled at the bench": 62, "time at the bench": 35,
                        "back to the stone, times": 24, "turned by": 22, "held by": 38, "charcoal": 30}, 9)]
    if len(cards):
        story += [gap(4), title("A card for every tool", 13),
                  _across(cards, {"tool": 32, "diameter when new": 22, "shank": 38, "teeth": 38,
                                  "hardness of the edge": 40, "way of cut for the whole part": 32,
                                  "stonings that it takes": 32, "that it has in it": 25,
                                  "smaller by each after": 28}, 9)]
    return story


ACROSS = 273   # mm: width of a wide sheet between its margins


def _across(table, widths, head_size):
    """A DataFrame ruled over the whole width of a wide sheet, without columns in which nothing stands. widths: of each
    column, beside the others."""
    filled = table.loc[:, [bool(table[column].astype(bool).any()) for column in table]]
    shares = [widths[column] for column in filled]
    return ruled(list(filled.columns), filled.values.tolist(), [ACROSS * share / sum(shares) for share in shares],
                 size=9, head_size=head_size)


def _planned(step):
    """Feed, or pressure and time, as the plan has them."""
    if step.operation == "lap":
        return f"{words.planned(step.pressure)}, {_at_most(step)}"
    return f"{words.exact(step.feed.m_as('mm'))} mm a turn" if step.feed is not None else ""


# --- measuring --------------------------------------------------------------------------------------------------------

MEASURED = ("tube: wall, thin side", "tube: wall, thick side", "pair: bore, near end", "pair: bore, far end",
            "pair: plunger, middle")   # ten minutes for two readers; the measuring card says which tube and pair


def measuring_sheet(study=None, live_lathe=True):
    """Sheet for two readers, three readings each: a half for each, folded apart, and a page that joins them."""
    study = study_of(study, live_lathe)
    story = [*_reader("A"), fold("fold back here before reader B begins: B must not see what A wrote, nor A what B "
                                 "writes"), *_reader("B"), page_break(), *_both_readers()]
    return pdf("Measuring sheet", title_of(study), story)


def _reader(reader):
    """The half of the measuring sheet that one reader fills in."""
    return [title(f"Measuring sheet: reader {reader}", 14, 1),
            fill_in(("group code", 45), ("pieces", 50), ("gauge, and its smallest step / mm", 91), height=8), gap(1.5),
            ruled(("all in mm", "1st", "2nd", "3rd", "mean", "spread"), [[what] + [FREE] * 5 for what in MEASURED],
                  (51, 27, 27, 27, 27, 27), size=11, height=16), gap(1.5),
            paragraph("Go through all the rows, then through all of them again, and a third time: never the same "
                      "reading twice running. Mean: the three added, divided by 3. Spread: largest less smallest.", 9.5,
                      after=1.5)]


def _both_readers():
    """The page of the measuring sheet on which the two readers' halves are joined, and set beside the prediction."""
    worked = ("clearance on diameter = bore (mean of both ends) less plunger, in µm; 0 where it does not go in",
              "taper of the bore = near end less far end, in µm",
              "how far the bore is off centre = (thick side less thin side) / 2, in µm",
              f"mean of all {2 * len(MEASURED)} spreads, in µm",
              "times 0.6: standard deviation of one reading by one reader, in µm (three readings, normal scatter)",
              "largest difference between A and B, in µm")
    predicted = ("wall at its thinnest place / mm", "strokes of all the reaming", "minutes of it, rests left out",
                 "clearance on diameter / µm")
    return [*heading("Measuring sheet: both together", "Unfold. Copy the means; then work by hand. "
                     "0.001 mm is 1 µm. What your group did not make stays blank."),
            ruled(("all in mm", "mean of A", "mean of B", "A less B", "mean of both", "larger spread"),
                  [[what] + [FREE] * 5 for what in MEASURED], (51, 27, 27, 27, 27, 27), size=11, height=12), gap(4),
            ruled(None, [[paragraph(each, 11), FREE] for each in worked], (136, 50), height=11.5), gap(4),
            title("What was predicted, and what was found"),
            ruled(("", "our low", "our high", "found", "inside? yes / no"), [[what] + [FREE] * 4 for what in predicted],
                  (74, 28, 28, 28, 28), size=11, height=10), gap(4),
            paragraph("A clearance smaller than three times the scatter of one reading is a guess, not a measurement: "
                      "say so in the verdict.", 12)]


# --- arguing ----------------------------------------------------------------------------------------------------------

MOST_TRIED = 6   # pieces in the table of the verdict card


def verdict_card():
    """Card on which a group argues: a sentence to complete, the probability words with their numbers, a rival to be
    named."""
    blank, small = "_" * 26, "_" * 9
    sentence = (f"With {blank} (tools, metal), {blank} (whose hands) made {small} of {small} pieces to {blank} (limit, "
                f"with unit). The true rate may lie between {small} and {small}. "
                f"The step that limits is {blank}. Under these inputs it is {blank} (word, with its number) that the "
                f"part was within reach. This rests most on {blank}, graded {small}{small}. "
                f"It does not exclude {blank} (rival), which would leave {blank} (trace).")
    scale = [[word, argument.band(word)] for _, word in evidence.LIKELIHOOD]
    intervals = [[str(n)] + [_rate(good, n) if good <= n else "" for good in range(MOST_TRIED + 1)]
                 for n in range(1, MOST_TRIED + 1)]
    grades = "; ".join(grade.replace("-", " ") for grade in evidence.GRADES)
    story = [
        *heading("Verdict card"),
        fill_in(("group code", 60)), gap(3), paragraph(sentence, 12.5, lead=1.9, after=4),
        paragraph("Words for a chance (Intergovernmental Panel on Climate Change, Guidance Note on Consistent "
                  "Treatment of Uncertainties, 2010, table 1; they overlap there, here each chance gets the narrowest)",
                  9, after=1),
        ruled(None, scale, (70, 34), size=11), gap(4),
        paragraph("x of n pieces succeeded: the true rate, in %, lies between (95 %, Clopper and Pearson 1934). "
                  "Left: n; above: x.", 9, after=1),
        ruled(("n", *map(str, range(MOST_TRIED + 1))), intervals, (12, *[24.8] * (MOST_TRIED + 1)), size=10), gap(4),
        paragraph(f"Grades of evidence, nearest to the past first: {grades}.", 10, after=1.5),
        paragraph("Rivals to think of: " + "; ".join(argument.rivals()) + "; or one of your own.", 10, after=1.5),
        paragraph("Within reach is not the same as done: that it was made so needs finds, texts and traces.", 10)]
    return pdf("Verdict card", "", story)


def _rate(good, n):
    low, high = trials.success_interval(successes=good, trials=n)
    return f"{100 * float(low):.0f} to {100 * float(high):.0f}"


def minute_card():
    """Four cards on a page: one thing learnt, one question still open."""
    card = [title("Minute card", 13, 1, 3), paragraph("One thing I have learnt:", 11, after=33),
            paragraph("One question that is still open:", 11, after=33), paragraph("group code:", 11)]
    return pdf("Minute card", "Cut along the dashes. No names.", [quarters(*card)])
