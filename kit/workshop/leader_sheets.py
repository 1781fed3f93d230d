"""The sheets of the leader and of the host: leader's page with the answers, what to bring, risk assessment, laptops.

A sheet is a function that returns the bytes of its PDF. The answers are on the leader's second page and nowhere else.
"""
from kit.base import words
from kit.workshop import programme, session
from kit.workshop.paper import BOLD, FREE, fill_in, gap, heading, page_break, paragraph, pdf, ruled, title
from kit.workshop.workpiece import study_of, title_of, tube_of

DRAWS, SEED = 2**12, 1


def leaders_page(study=None, people=12, minutes=150, live_lathe=True):
    """The leader's guide to the session: page 1 timing, rotation and troubles; page 2, to be kept face down, the
    answers and what to print."""
    people, study = programme.checked(people=people, minutes=minutes), study_of(study, live_lathe)
    return pdf("Leader's page", title_of(study), [*_running(people, minutes, live_lathe), page_break(),
                                                  *_face_down(study, people, minutes)])


def _running(people, minutes, live_lathe):
    """Page 1: minute by minute, who works where, what goes wrong."""
    n, several = programme.groups(people=people), programme.sets(people=people)
    blocks = [[f"{programme.clock(b['start'])}–{programme.clock(b['start'] + b['minutes'])}",
               f"{b['block']} ({b['minutes']} min)", b["do"], b["kit_gives"]]
              for b in programme.timing(minutes=minutes, live_lathe=live_lathe)]
    alike = {}
    for group, way in programme.rotation(people=people, minutes=minutes, live_lathe=live_lathe).items():
        alike.setdefault(way, []).append(str(group))
    turns = "; ".join(f"group{'s' if len(same) > 1 else ''} {', '.join(same)}: {', '.join(way)}"
                      for way, same in alike.items())
    short = programme.rounds(minutes=minutes) < len(programme.STATIONS)
    ready = ("ream: a drilled blank; "
             + ("turn: a reamed blank on its arbor; " if live_lathe else "turn: the pinned pulley; ")
             + "lap: a tube with its plunger, which you have lapped for a quarter of an hour")
    troubles = [[r["trouble"], r["do"]] for r in programme.rows("troubles", live_lathe)]
    return [
        title(f"Leader's page: {minutes} minutes, {words.counted(people, 'learner', spelt=True)} in "
              f"{words.counted(n, 'group', spelt=True)}, {'with' if live_lathe else 'without'} a live lathe", 12.5, 1),
        ruled(("time", "block", "what is done", "have ready"), blocks, (21, 35, 87, 43), size=8, head_size=8),
        gap(1.5),
        paragraph(f"Rotation. {turns}. {f'{several} sets of the three stations. ' if several > 1 else ''}"
                  + ("A range counts only where the group itself found the number; the board shows all. "
                     if short else "") +
                  f"Have prepared for each group, at {ready}. A trained person stands at each "
                  f"{'lathe' if live_lathe else 'station'}. Codes are drawn from a bag; no names are kept.", 8.5,
                  after=1.5),
        ruled(("what goes wrong", "what to do"), troubles, (66, 120), size=8, head_size=8)]


def _face_down(study, people, minutes):
    """Page 2: the answers, and what to print."""
    copies = [[name, str(n), whom] for name, n, whom in programme.printing(people=people, minutes=minutes)]
    return [
        *heading("Leader's page 2: face down until all predictions are in"),
        paragraph(f"What the study predicts ({words.draws(DRAWS, SEED)}). Nine draws in ten lie between low and "
                  "high.", 10, after=1),
        _answers(study), gap(2),
        paragraph("A range that holds the measured value is a hit; of good 90 % ranges nine in ten hit. Count hits "
                  "over all groups and all four numbers. These are predictions under the study's assumptions; the "
                  "bench decides. Notebook 12 draws all groups beside them. 0 µm of clearance: the plunger does not "
                  "go in yet when the lapping ends.", 10, after=4),
        title("To print"),
        ruled(("sheet", "copies", "for"), copies, (60, 22, 104), size=9)]


def _answers(study):
    """Table of what the kit expects, or why it gives no answer."""
    try:
        found = session.expected(study, tube=tube_of(study).name, draws=DRAWS, seed=SEED)
    except ValueError as fault:   # a study may lack what the answers need; the other sheets do without
        return paragraph(f"Not predicted: {fault}", 10)
    rows = [[row["question"], words.unit(row["unit"]),
             *(words.number(row[k]) for k in ("low_5", "median", "high_95")), row["driven_by"]]
            for _, row in found.iterrows()]
    return ruled(("what", "unit", "low (5 %)", "middle (50 %)", "high (95 %)", words.heading("driven_by")), rows,
                 (66, 17, 20, 22, 22, 39), size=9)


def _amount(amount, unit):
    return words.counted(amount, unit) if len(unit) > 2 else words.with_unit(words.count(amount), unit)   # g, mL


def consumables(people=12, live_lathe=True):
    """List of what to bring, with amounts for so many learners."""
    n = programme.groups(people=people)
    rows = [[r["item"], _amount(r["amount"], r["unit"]), r["note"], ""]
            for r in programme.amounts(people=people, live_lathe=live_lathe)]
    story = [
        *heading(f"To bring for {words.counted(people, 'learner', spelt=True)} in "
                 f"{words.counted(n, 'group', spelt=True)}, {'with' if live_lathe else 'without'} a live lathe",
                 "All amounts are an assumption of this kit: correct them in data/session/consumables.csv after your "
                 "first session."),
        ruled(("item", "amount", "note", "packed"), rows, (68, 25, 77, 16), size=8)]
    return pdf("Consumables", "", story)


BLANK_RISKS = 4


def risk_assessment(live_lathe=True):
    """Form to be filled in with the host: hazard, harm and usual cautions are given; who may be hurt, what is left to
    do and by whom are left blank."""
    rows = [[r["hazard"], r["harm"], FREE, r["usual_cautions"], FREE, FREE]
            for r in programme.rows("risks", live_lathe)]
    widths = (46, 46, 33, 73, 44, 31)
    story = [
        *heading("Risk assessment, to be filled in with the host"),
        paragraph("A start, not a certificate. It is incomplete by nature and takes no account of your room, "
                  "your people or your law. Local codes, the host's rules and the judgement of those licensed or "
                  "qualified to make it come first and replace what is printed here wherever they differ. Work that "
                  "local rules keep for licensed people is left to them.", 10, after=2),
        fill_in(("place", 90), ("day", 50), ("people, ages", 80)),
        fill_in(("person in charge at the host", 130), ("first aid, and where", 90)),
        fill_in(("local rules that apply, and where they are kept", 260)), fill_in(("", 260)), gap(3),
        ruled(("hazard", "harm", "who may be hurt", "usual cautions", "left to do here", "by whom, by when"), rows,
              widths, size=9, head_size=9),
        ruled(None, [[FREE] * 6] * BLANK_RISKS, widths, height=12), gap(1),
        fill_in(("agreed for the host", 110), ("agreed for the session", 110)),
        fill_in(("to be looked at again when", 200))]
    return pdf("Risk assessment", "Local codes and licensed practice come first.", story, wide=True)


def laptop_sheet():
    """How to prepare laptops that will have no internet, with the commands to type."""
    rows = []
    for i, row in enumerate(programme.table("laptops"), 1):
        typed = (row["command"] or "").replace(" // ", "\n")
        rows.append([str(i), [paragraph(row["do"], 11, after=1)] + ([paragraph(typed, 9.5, BOLD)] if typed else [])])
    story = [
        *heading("Laptops without internet", "Done the day before, by one person, for all of them. On Windows write "
                 "py for python3 and .venv\\Scripts\\ for .venv/bin/."),
        ruled(None, rows, (10, 176)), gap(4),
        paragraph("Serving the session as a page instead (kiosk): the server asks a public host for an icon font; "
                  "without internet the icons are missing and nothing else.", 10)]
    return pdf("Laptops without internet", "", story)
