"""The board of a session: what all groups predicted and found, as a picture and as tables in a page."""
from html import escape

from kit.base import words
from kit.publish import page, widgets
from kit.workshop import answers, session

LOOK = {True: (page.BLUE, "o"), False: (page.VERMILION, "X"), None: (page.GREEN, "D")}


@page.styled
def picture(table, width=140):
    """Predicted ranges against what was measured, one panel for each quantity, one row for each group; grey: the kit's
    own range.

    table: of session.compare. A bar is a group's range, its tick the best guess; a disc is a measured mean inside it, a
    cross one outside, a diamond one where nothing was predicted, with twice its standard uncertainty to either side.
    """
    groups = list(dict.fromkeys(table["group"]))
    across = 2 if width >= page.NARROW else 1
    down, above, below, right = len(answers.ASKED) // across, 16, 15, 5   # mm
    left = 7 + 1.6 * max(map(len, groups), default=1)
    tall = min(4 + 6 * len(groups), (page.MOST_HEIGHT - above - down * below) / down)
    wide, height = width / across - left - right, above + down * (tall + below)
    from matplotlib.figure import Figure
    figure = Figure(figsize=(width * page.MM, height * page.MM))
    for place, key in enumerate(answers.ASKED):
        x, y = left + place % across * width / across, height - above - tall - place // across * (tall + below)
        ax = figure.add_axes((x / width, y / height, wide / width, tall / height))
        _panel(ax, table[table["quantity"] == key], groups)
        ax.set(xlabel=answers.with_unit(key), ylim=(len(groups) - 0.4, -0.6))
        ax.set_yticks(range(len(groups)), groups, fontsize=7)
        ax.tick_params(axis="y", length=0)
        ax.xaxis.set_major_formatter(lambda value, _: words.exact(value))
    for line, said in enumerate(("dark bar: the range that a group predicted; tick: its best guess",
                                 "measured:  ● inside it   ✖ outside it   ◆ nothing predicted",
                                 "grey: the kit's own range, nine draws in ten; dashed: its median")):
        figure.text(5 / width, 1 - (3.5 + 3.7 * line) / height, said, fontsize=7, va="center")
    return figure


def _panel(ax, rows, groups):
    """One quantity of `picture`."""
    for kit in rows.head(1).itertuples():
        ax.axvspan(kit.kit_low, kit.kit_high, color="0.5", alpha=0.18, lw=0)
        ax.axvline(kit.kit_median, color="0.35", lw=0.8, ls=(0, (2, 2)))
    for row in rows.itertuples():
        at = groups.index(row.group)
        ax.plot([row.low, row.high], [at, at], color="0.35", lw=2.4, solid_capstyle="butt")
        ax.plot(row.best, at, "|", color=page.BLACK, ms=7, mew=1.2)
        hue, marker = LOOK[row.inside]
        if row.uncertainty > 0:
            ends = max(row.measured - 2 * row.uncertainty, 0), row.measured + 2 * row.uncertainty
            ax.plot(ends, [at, at], color=hue, lw=0.9)
        ax.plot(row.measured, at, marker, color=hue, ms=4.5, mec="white", mew=0.4)


def compared(table, study):
    """Picture, hit rates, count of pieces, table and the leading assumptions of a comparison, as a page shows them."""
    hits = session.hits(table)
    first = hits.words if hits else "No quantity has both been predicted and measured yet."
    (good, tried), kits = session.made(table, study), session.hits(table, "kit_inside")
    most = words.planned(study.use["clearance_most"])
    told = [f"Pieces made: {good} of {tried} tried (the plunger goes in, with no more than {most} of clearance).",
            *([kits.words] if kits else [])]
    columns = ["group", "quantity", "unit", "low", "best", "high", "measured", "uncertainty", "readings", "inside"]
    shown, own = session.tidy(table[columns]), table.attrs["expected"].drop(columns=["question", "next_share"])
    notes = {key.partition("@")[0]: a.note for key, a in (study.assumptions | session.learners(study)).items()}
    meant = [f"{label}: {notes[key]}" for key, label in dict(zip(own["key"], own["driven_by"])).items()
             if notes.get(key)]
    drawn = (f"The kit's own, nine draws in ten between the 5 % and 95 % points "
             f"({words.draws(table.attrs['n'], table.attrs['seed'])}), and the assumptions that move it most:")
    return "".join([widgets.still(picture(table), alt=first).data, *(f"<p>{escape(each)}</p>" for each in told),
                    shown.to_html(index=False, border=0), f"<p>{drawn}</p>", session.tidy(own).to_html(border=0),
                    *(f"<p>{escape(each)}</p>" for each in meant)])


def prose(table, index=True):
    """A table of sentences as HTML, flush left, where a notebook would set it flush right."""
    from IPython.display import HTML
    return HTML(table.to_html(border=0, index=index, na_rep="").replace("<td>", "<td style='text-align:left'>")
                .replace("<th>", "<th style='text-align:left'>"))
