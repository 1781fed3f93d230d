"""Proofs: figures and texts of a write-up looked at in a notebook, at true size, put into one's own words, and saved.

    kit.proofs.page(study)
"""
import base64
from html import escape
from pathlib import Path

import ipywidgets

from kit.base import tables, words
from kit.publish import figures, widgets, writeup
from kit.publish.controls import WIDE

LABELLED = {"description_width": "initial"}
RULER = ("<p style='margin:6px 0'>"
         "<span style='display:inline-block;width:50mm;border:1px solid #000;border-top:0;height:4px'></span> "
         "50 mm: hold a ruler to the screen. Where it does not fit, set the zoom of the browser until it does.</p>")


def page(study, out="out", draws=2**17, seed=1, worked=None):
    """Choose figures and width, look at each at true size, edit captions and texts, save the bundle, see what it holds.

    study: a Study. out: folder for the bundle. draws, seed: of its verdict. worked: a writeup.WorkedOut of the study,
    where there is one: draws and seed are then its own. Own words are kept in the study's folder (`writeup.reword`);
    the studies that come with the kit are left as they are, and words for them go into the bundle alone.
    """
    own, given = tables.DATA.resolve() not in study.folder.resolve().parents, {}
    start = worked or writeup.WorkedOut(study, draws, seed)
    plates = {p.name: p for p in writeup.plates(start)}
    texts = {"verdict": writeup.verdict_text(start), "methods": writeup.methods_text(start)}
    width = ipywidgets.ToggleButtons(options=[(f"{words.exact(w)} mm", w) for w in writeup.WIDTHS] + [("other", 0)],
                                     description="width", style=LABELLED)
    other = ipywidgets.BoundedFloatText(value=160, min=80, max=190.5, step=0.5, description="other width / mm",
                                        style=LABELLED, disabled=True)
    tiff = ipywidgets.Checkbox(description="TIFF as well", indent=False)
    looked_at = ipywidgets.ToggleButtons(options=[*plates, *(f"text: {name}" for name in texts)],
                                         description="look at", style=LABELLED)
    wanted = {name: ipywidgets.Checkbox(value=True, description=name, indent=False, layout={"width": "auto"})
              for name in plates}
    shown, told, listed = ipywidgets.HTML(), ipywidgets.HTML(), ipywidgets.HTML()
    text = ipywidgets.Textarea(description="caption", style=LABELLED, layout=WIDE | {"height": "110px"})
    keep, back, save = (ipywidgets.Button(description=label, layout={"width": "auto"}) for label in
                        ("Keep these words", "Back to the generated words", "Save the bundle"))

    def chosen_width():
        return width.value or other.value

    def name_of_text():
        name = looked_at.value
        return name.removeprefix("text: ") if name.startswith("text: ") else f"caption {name}"

    def generated():
        name = name_of_text()
        return texts.get(name) or plates[name.removeprefix("caption ")].caption

    def show():
        name = looked_at.value
        if name in plates:
            figure = plates[name].draw(chosen_width())
            wide, high = (size * 25.4 for size in figure.get_size_inches())
            picture = base64.b64encode(figures.png(figure, dpi=200)).decode()
            alt = escape(plates[name].alt, quote=True)
            shown.value = (f"<img style='width:{wide:.1f}mm;max-width:none' alt='{alt}' "
                           f"src='data:image/png;base64,{picture}'>"
                           f"<p>{escape(name)}: {wide:.0f} × {high:.0f} mm</p>{widgets.made_by(figure)}{RULER}")
        else:
            shown.value = "<p>The paragraph below is generated from the record: change it as you like.</p>"
        text.description = name_of_text()
        text.value = given.get(name_of_text()) or start.worded(name_of_text(), generated())

    def guarded(work, place=told):
        def done(_):
            try:
                place.value = f"<p role='status' style='max-width:760px'>{work() or ''}</p>"
            except Exception as fault:   # raised from here it would end in a log that nobody reads
                place.value = f"<p role='alert' style='max-width:760px'><b>Not done.</b> {escape(str(fault))}</p>"
        return done

    def keep_words(kept):
        name = name_of_text()
        given[name] = kept
        if own:
            writeup.reword(study, overwrite=True, **{name: kept})
            where = escape(str(study.folder / writeup.WORDING))
            return f"Kept in {where}." if kept else "The generated words stand again."
        return ("They go into the bundle; this study comes with the kit and is left as it is. Make your own with "
                "python -m kit new.")

    def take_back():
        said = keep_words("")
        text.value = generated()
        return said

    def save_bundle():
        only = [name for name, box in wanted.items() if box.value]
        formats = writeup.FORMATS + (("tiff",) if tiff.value else ())
        now = start.with_words({name: text for name, text in given.items() if text})
        made = writeup.bundled(now, Path(out), (chosen_width(),), formats, only=only)
        files = sorted(p.relative_to(made).as_posix() for p in made.rglob("*") if p.is_file())
        held = words.counted(len(files), "file")
        return f"<b>{escape(str(made))}</b> holds {held}:<br>" + "<br>".join(map(escape, files))

    def changed(_):
        other.disabled = width.value != 0
        guarded(show)(None)

    for control in (width, other, looked_at):
        control.observe(changed, "value")
    keep.on_click(guarded(lambda: keep_words(text.value)))
    back.on_click(guarded(take_back))
    save.on_click(guarded(save_bundle, listed))
    show()
    box = ipywidgets.VBox([width, other, looked_at, shown, text, ipywidgets.HBox([keep, back]), told,
                           ipywidgets.HTML("<b>In the bundle</b>"),
                           ipywidgets.HBox(list(wanted.values()), layout={"flex_flow": "row wrap"}),
                           tiff, save, listed])
    box.add_class("kit-proofs")
    return box
