"""The report of a write-up, as the blocks that `kit.report` sets as a page or a PDF."""
from kit.publish import claims
from kit.publish.strength import doing
from kit.publish.report import Bullets, Heading, Note, Paragraph, Picture, Table
from kit.publish.writeup_figures import plates
from kit.publish.writeup_tables import sheets
from kit.publish.writeup_texts import measured_said, methods_text, trials_said, verdict_text

CARE = ("Spinning work, cords under tension, swarf, files without handles, lead-bearing bronze, metal and abrasive "
        "dust, and rags with drying oils can hurt. Local rules and qualified supervision come first.")


def document(worked, width=140):
    """The report as blocks: claim, verdict, part, method, evidence, trials, rivals, what is weak, references.

    worked: a WorkedOut. width: of the figures, mm.
    """
    study, verdict = worked.study, worked.verdict
    plate = {p.name: (i, p) for i, p in enumerate(plates(worked), 1)}
    sheet = {s.name: (i, s) for i, s in enumerate(sheets(worked), 1)}

    def picture(name):
        if name not in plate:
            return []
        i, drawn = plate[name]
        return [Picture(drawn.draw(width), f"Figure {i}. {drawn.caption}", drawn.alt, f"figure-{name}")]

    def table(name):
        if name not in sheet:
            return []
        i, found = sheet[name]
        return [Table(found.print_, f"Table {i}. {found.caption}", name)]

    blocks = []
    if study.invented:
        blocks += [Note("Invented: no such part, workshop or find is known. Everything here shows how a study is "
                        "written.")]
    blocks += [Heading("The claim"), Paragraph(" ".join(study.claim.split())),
               Paragraph(f"The claim fails if: {study.fails_if or 'not said.'}"),
               Heading("The verdict"), Paragraph(worked.worded("verdict", verdict_text(worked))),
               *picture("verdict"), *picture("sweep"), *table("verdict"), *table("ways"),
               Heading("How strong the claim is"), Paragraph(claims.LADDER), *table("strength"),
               Heading("The part and the plan"), *picture("part"), *table("sizes"), *table("stock_plan"),
               Heading("Methods"),
               *map(Paragraph, worked.worded("methods", methods_text(worked)).split("\n\n")),
               Note(CARE), *picture("outside-checks"), *table("outside_checks"),
               Heading("At the bench"), *table("settled"), *table("tools"),
               Heading("What it rests on"),
               *picture("sensitivity"), *picture("limiting-step"), *picture("trace"), *table("assumptions")]
    if verdict.warnings:
        blocks += [Paragraph("Estimates used outside the range for which their formula is known to hold:"),
                   Bullets(tuple(verdict.warnings))]
    support = study.record.get("support", ())
    if support:
        blocks += [Heading("Support from the period or from a living craft"),
                   Bullets(tuple(_support_said(entry, worked.cited) for entry in support))]
    if worked.log:
        blocks += [Heading("Trials"), Paragraph(" ".join([trials_said(worked), *measured_said(worked)])),
                   *picture("bench-log"), *table("trials"), *table("measured"), *table("skill"), *table("photographs")]
        if worked.log.faults:
            blocks += [Paragraph("Rows of the log that could not be read, and are not in the table:"),
                       Bullets(tuple(map(worked.without_folder, worked.log.faults)))]
    if "deviations" in sheet:
        blocks += [Heading("Deviations and modern substitutes"), *table("deviations")]
    if "rivals" in sheet:
        blocks += [Heading("Other ways of making it"), *picture("rivals"), *table("rivals")]
    if "what_to_change" in sheet:
        blocks += [Heading("What a sensible maker would change"), *picture("what-to-change"),
                   *table("what_to_change")]
    if "what_to_measure" in sheet:
        blocks += [Heading("What to measure next"), *table("what_to_measure")]
    blocks += [Heading("What a reviewer will ask about"), *table("weak"),
               Heading("References"), Bullets(tuple(worked.reference_list())),
               Heading("How to reproduce it"), Paragraph(_again_said(worked))]
    return blocks


def _support_said(entry, cited):
    """What an entry of [[record.support]] shows and does not show. cited: {source: how it is cited}."""
    less = f" Does not show: {entry['does_not_show']}" if entry.get("does_not_show") else ""
    return f"{doing(entry['step'])} ({entry['grade']}; {cited[entry['source']]}): {entry['shows']}{less}"


def _again_said(worked):
    said = worked.verdict.provenance
    versions = ", ".join(f"{name} {version}" for name, version in said["versions"].items())
    return (f"python -m kit writeup FOLDER --out DIR --draws {worked.verdict.n} --seed {worked.seed}, FOLDER being the "
            f"folder 'study' of the archive; inputs {said['inputs']}; {versions}.")
