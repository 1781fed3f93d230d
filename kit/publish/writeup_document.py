"""The report of a write-up, and its annex, as the blocks that `kit.report` writes in every format."""
from kit.base import words
from kit.publish import claims, short_tables
from kit.publish.strength import doing
from kit.publish.report import Bullets, Formula, Heading, Note, Paragraph, Picture, References, Table, Upright
from kit.publish.writeup_figures import passing_said
from kit.publish.writeup_texts import measured_said, methods_text, trials_said, verdict_text

CARE = ("Spinning work, cords under tension, swarf, files without handles, lead-bearing bronze, metal and abrasive "
        "dust, and rags with drying oils can hurt. Local rules and qualified supervision come first.")
INVENTED = "Invented: no such part, workshop or find is known. Everything here shows how a study is written."
# figures; the others stand in the annex
IN_REPORT = ("verdict", "sweep", "part", "sensitivity", "what-to-change", "what-to-measure")
WEAK = 10   # weak points that the report names
MARGIN = Formula(r"M = \frac{C}{D}, \qquad P = \frac{1}{n}\sum_{i=1}^{n}\left[\min_k M_{k,i} \geq 1\right]",
                 "The margin M is the capacity C over the demand D; the chance P is the share of the n draws in which "
                 "the least margin of all criteria k is 1 or more.")


def document(worked, plates, sheets, width=140):
    """The report as blocks, to be read: claim, verdict, margins, wall, plan, what it rests on, trials, rivals, what is
    weak, methods, references. All tables in full stand in the annex.

    worked: a WorkedOut. plates, sheets: its figures and tables, of writeup_figures and writeup_tables. width: of the
    figures, mm.
    """
    study, verdict = worked.study, worked.verdict
    figure = _figures(plates, width, IN_REPORT)
    annexed = {sheet.name: f"A{i}" for i, sheet in enumerate(sheets, 1)}
    authors = ", ".join(" ".join(filter(None, (a.get("given"), a["family"]))) for a in study.record.get("authors", ()))
    blocks = [*([Paragraph(authors)] if authors else []), *([Note(INVENTED)] if study.invented else []),
              Heading("The claim"), Paragraph(study.claim),
              Paragraph(f"The claim fails if: {study.fails_if or 'not said.'}"),
              Heading("The verdict"), *_paragraphs(worked.worded("verdict", verdict_text(worked))),
              *figure("verdict"), short_tables.rests_on(worked, annexed),   # before it the page would end half empty
              *([Heading("The wall"), Paragraph(_wall_said(worked)), *figure("sweep")] if figure("sweep") else []),
              Heading("The part and the plan"), Paragraph(_sizes_said(study)), *figure("part"),
              short_tables.plan(worked, annexed),
              Note(CARE),
              Heading("What it rests on"), *figure("sensitivity"), Paragraph(claims.LADDER)]
    if verdict.warnings:
        blocks += [Paragraph("Estimates used outside the range for which their formula is known to hold, and where:"),
                   Bullets(tuple(verdict.warnings))]
    support = study.record.get("support", ())
    if support:
        blocks += [Heading("Support from the period or from a living craft", 2),
                   Bullets(tuple(_support_said(entry, worked.cited) for entry in support))]
    if worked.log:
        blocks += [Heading("Trials"), Paragraph(" ".join([trials_said(worked), *measured_said(worked)])),
                   Paragraph(_logged_said(annexed))]
        if worked.log.faults:
            blocks += [Paragraph("Rows of the log that could not be read, and are not in the table:"),
                       Bullets(tuple(map(worked.without_folder, worked.log.faults)))]
    for sheet in sheets:
        if sheet.name == "deviations":
            blocks += [Heading("Deviations and modern substitutes", 2), Table(sheet.print_, sheet.caption, sheet.name)]
        elif sheet.name == "rivals":
            blocks += [Heading("Other ways of making it"), Table(sheet.print_, sheet.caption, sheet.name)]
        elif sheet.name in ("skill", "photographs"):
            blocks += [Heading(sheet.name.capitalize(), 2), Table(sheet.print_, sheet.caption, sheet.name)]
        elif sheet.name == "what_to_change":
            blocks += [Heading("What a sensible maker would change"), *figure("what-to-change"),
                       Table(sheet.print_, sheet.caption, sheet.name)]
        elif sheet.name == "what_to_measure":
            blocks += [Heading("What to measure next"), *figure("what-to-measure"),
                       Table(sheet.print_, sheet.caption, sheet.name)]
    blocks += [Heading("What a reviewer will ask about"), *_weak_said(worked.weak[:WEAK]),
               Paragraph(f"All {len(worked.weak)} weak points, each with its place: annex, table {annexed['weak']}."
                         if len(worked.weak) > WEAK else "That is all of them."),
               Heading("Methods")]
    first, *others = _paragraphs(worked.worded("methods", methods_text(worked)))
    return blocks + [first, MARGIN, *others, Paragraph(_again_said(worked)),
                     Heading("References"), References()]


def annex(worked, plates, sheets, width=140):
    """All tables in full and the figures that the report leaves out, as blocks. Arguments as in `document`."""
    rest = tuple(plate.name for plate in plates if plate.name not in IN_REPORT)
    figure = _figures(plates, width, rest)
    blocks = [Note(INVENTED)] if worked.study.invented else []
    blocks += [Paragraph("All tables of the report in full. Each is at hand as CSV too, with every column, in the "
                         "folder 'tables'."), Heading("Tables")]
    for i, sheet in enumerate(sheets, 1):
        blocks += [Table(sheet.print_, f"Table A{i}. {sheet.caption}", sheet.name)]
    return blocks + [Upright(), Heading("Figures"), *(block for name in rest for block in figure(name)),
                     Heading("References"), References()]


def _weak_said(weak):
    """Weak points, above the remedy that several share."""
    said = {}
    for point in weak:
        said.setdefault(point.remedy, []).append(point.what)
    return [block for remedy, points in said.items()
            for block in (Bullets(tuple(points)), Paragraph(f"Remedy: {remedy}."))]


def _wall_said(worked):
    """What is planned, and where the chance gets likely."""
    sweep = worked.sweep
    return (f"As planned, {sweep.attrs['said']} is {words.with_unit(words.exact(sweep.attrs['now']), 'mm')}, with a "
            f"chance of {words.chance(worked.verdict.chance)} of all together. {passing_said(sweep)}")


def _sizes_said(study):
    """What is to be made, in a sentence a tube."""
    told = [f"{tube.said}: bore {words.planned(tube.bore)}, wall {words.planned(tube.wall)}, "
            f"{words.planned(tube.length)} long, clearance {words.planned(tube.clearance)}"
            + _lengths_said(tube) + _shaft_said(tube.shaft)
            for tube in study.tubes]
    return f"Of {study.part['alloy']}. {'; '.join(told).capitalize()}; clearance on diameter."


def _lengths_said(tube):
    """Of its lengths of another bore or outside."""
    return "".join(f", {words.planned(each.length)} of it {each.said} at the {each.end} end" for each in tube.lengths)


def _shaft_said(shaft):
    """Of what runs in a tube and is a part of its own."""
    if shaft is None:
        return ""
    return f" (in it the {shaft.said}, {words.planned(shaft.outside)} by {words.planned(shaft.length)})"


def _logged_said(annexed):
    told = f"Every trial on record stands in the annex, table {annexed['trials']}"
    return told + (f"; every measurement beside what the study predicts for it in table {annexed['measured']}."
                   if "measured" in annexed else ".")


def _paragraphs(text):
    return list(map(Paragraph, text.split("\n\n")))


def _figures(plates, width, names):
    """A function: the Picture of that name in a list, empty where the study has none or another document shows it."""
    known = {plate.name: (i, plate) for i, plate in enumerate(plates, 1) if plate.name in names}

    def figure(name):
        if name not in known:
            return []
        i, plate = known[name]
        return [Picture(plate.drawn(width), f"Figure {i}. {plate.caption}", plate.alt, file_of(i, plate, width),
                        lambda end: plate.printed(width, end))]

    return figure


def file_of(number, plate, width):
    """Where a figure lies in the bundle, without its ending."""
    return f"figures/figure-{number}-{plate.name}-{width:g}mm"


def _support_said(entry, cited):
    """What an entry of [[record.support]] shows and does not show. cited: {source: how it is cited}."""
    less = f" Does not show: {entry['does_not_show']}" if entry.get("does_not_show") else ""
    return f"{doing(entry['step']).capitalize()}, {entry['grade']}, {cited[entry['source']]}: {entry['shows']}{less}"


def _again_said(worked):
    said = worked.verdict.provenance
    versions = ", ".join(f"{name} {version}" for name, version in said["versions"].items())
    return (f"To reproduce it: python -m kit writeup FOLDER --out DIR --draws {worked.verdict.n} --seed {worked.seed}, "
            f"FOLDER being the folder 'study' of the archive; inputs {said['inputs']}; {versions}.")
