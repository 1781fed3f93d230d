"""Figures of what to do next: the changes that reach a chance, and the measurements that would settle most."""
import numpy as np

from kit.base import words
from kit.publish.page import BLACK, BLUE, GREY, INK, MM, NARROW, VERMILION, rows_of, styled, write

LABEL = 90   # characters of a change that a row has room for


@styled
def reached(table, rows=14, width=140):
    """The chance before and after each change: a bar from the plan's own chance to what the change gives, solid where
    it reaches what is wanted, dashed where not; the hours that it costs beside it.

    table: of Study.reach. rows: at most so many.
    """
    now, wanted = table.iloc[0], table.attrs["wanted"]
    told = table.iloc[1:]
    told = told.loc[[i for kind in ("best plan found", "pair", "alone") for i in told.index[told["kind"] == kind]]]
    told = told[(told["chance"] > now["chance"]) | (told["kind"] != "alone")].head(rows)
    if not len(told):
        told = table.iloc[:1]
    clear = 9 if width < NARROW else 0   # points, above the heading of a narrow page
    beside = [f"{words.chance(row.chance)}  {_more(row.hours_more)}" for row in told.itertuples()]
    figure, ax = rows_of(width, [_label(row) for row in told.itertuples()], beside, "chance, hours", pitch=6.6,
                         xlabel="chance of being met", xlim=(-0.02, 1.02), top=11 + clear * MM)
    for i, row in enumerate(told.itertuples()):
        hue, style, wide = (BLUE, "-", 3.2) if row.reached else (VERMILION, (0, (1.2, 0.6)), 1.8)
        ax.plot([now["chance"], row.chance], [i, i], color=hue, ls=style, lw=wide, solid_capstyle="butt")
        ax.plot(row.chance, i, "|", color=BLACK, ms=8, mew=1.2)
        if np.isfinite(row.all_5):
            ax.plot([row.all_5, row.all_95], [i + 0.28] * 2, color=GREY, lw=1)
    # one above the other: they may be close
    for at, text, style, up in ((now["chance"], "as planned", "-", 1), (wanted, "wanted", (0, (4, 2)), 10)):
        ax.axvline(at, color=BLACK, lw=0.8, ls=style, zorder=0)
        late = at > 0.6
        write(ax, text, (at, 1), (-2 if late else 2, up + clear), ("data", "axes fraction"),
              ha="right" if late else "left", color=INK[BLUE])
    return figure


def _label(row):
    if row.kind == "best plan found":
        return f"best plan found ({words.counted(row.change.count('; ') + 1, 'change')})" if row.change else row.kind
    text = row.change.replace(" in place of ", " for ") or row.kind
    return text if len(text) <= LABEL else f"{text[:LABEL - 1]}…"


def _more(hours):
    return "same hours" if abs(hours) < 0.5 else f"{hours:+.0f} h".replace("-", "−")


@styled
def to_measure(table, rows=12, width=140):
    """How wide the band of the chance would be after each kind of measurement: from its width now to the tick, with
    one standard error of the narrowing to either side; solid where the narrowing shows, dashed where it does not.
    Beside it the rank, = where several cannot be told apart and stand on one ground, and what the band loses an hour.

    table: of Study.next_trials; of each measurement the number of readings that is ranked, or narrows most an hour.
    rows: at most so many.
    """
    best = table.loc[table.assign(last=table["rank"].fillna(np.inf)).sort_values(
        ["last", "per_hour"], ascending=[True, False]).drop_duplicates("measurement").index].head(rows)
    ranks, now = best["rank"].to_list(), float(best["width_now"].iloc[0])
    labels = [f"{row.measurement} ({words.counted(row.readings, 'reading')}, {words.number(row.hours, 2)} h)"
              for row in best.itertuples()]
    beside = [f"{_rank(rank, ranks)}{words.number(row.per_hour, 2)} ± {words.number(row.error / row.hours, 2)}"
              for rank, row in zip(ranks, best.itertuples())]
    clear = 9 if width < NARROW else 0   # points, above the heading of a narrow page
    most = max(now, float((best["width"] + best["error"]).max()))
    figure, ax = rows_of(width, labels, beside, "rank, narrower an hour", pitch=6.6, top=8 + clear * MM,
                         xlabel="width of the band of the chance", xlim=(0, 1.04 * most))
    for rank in {rank for rank in ranks if ranks.count(rank) > 1}:
        tied = [i for i, each in enumerate(ranks) if each == rank]
        ax.axhspan(tied[0] - 0.45, tied[-1] + 0.45, color="0.94", lw=0, zorder=-1)
    for i, row in enumerate(best.itertuples()):
        hue, style, wide = (VERMILION, (0, (1.2, 0.6)), 1.8) if np.isnan(row.rank) else (BLUE, "-", 3.2)
        ax.plot([now, row.width], [i, i], color=hue, ls=style, lw=wide, solid_capstyle="butt")
        ax.plot([row.width - row.error, row.width + row.error], [i + 0.28] * 2, color=GREY, lw=1)
        ax.plot(row.width, i, "|", color=BLACK, ms=8, mew=1.2)
    ax.axvline(now, color=BLACK, lw=0.8, zorder=0)
    write(ax, "now", (now, 1), (-2, 1 + clear), ("data", "axes fraction"), ha="right", color=INK[BLUE])
    return figure


def _rank(rank, ranks):
    """'1: ', '1 =: ' where several share it; of what has none, nothing."""
    return "" if np.isnan(rank) else f"{rank:.0f}{' =' if ranks.count(rank) > 1 else ''}: "
