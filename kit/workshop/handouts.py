"""Printable handouts of a workshop session, as PDF: sheets for learners, for the leader, and for the host.

A4, black on white, fonts embedded, no dates: the same inputs give the same bytes. The texts are kept in tables
(data/session), where a leader may change them; the numbers are worked out from the study. A sheet is a function that
returns the bytes of its PDF; `write` puts them all into a folder.
"""
from pathlib import Path

from kit.base import tables
from kit.workshop import nomogram
from kit.workshop.leader_sheets import consumables, laptop_sheet, leaders_page, risk_assessment
from kit.workshop.learner_sheets import (  # noqa: F401 (what is known as kit.handouts, gathered)
    CARDS, COLUMNS, MEASURED, ONCE, bench_sheet, measuring_sheet, minute_card, prediction_form, safety_brief,
    station_cards, stock_plan_card, verdict_card)
from kit.workshop.programme import (  # noqa: F401
    GROUP, LENGTHS, SESSION, STATIONS, amounts, checked, groups, printing, rotation, rounds, sets, timing)
from kit.workshop.workpiece import study_of


def sheets(study=None, people=12, minutes=150, live_lathe=True):
    """All sheets: {file name: bytes of its PDF}. Arguments as in `write`."""
    people, study = checked(people=people, minutes=minutes), study_of(study, live_lathe)
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
    sheets show the first tube that is reamed and lapped. people: number of learners. minutes: 45, 90, 120 or 150.
    live_lathe: False for a session without a running lathe. overwrite: whether files of the same names may be
    replaced. Each file appears whole or not at all.
    Raises FileExistsError where one is there already and overwrite is not given (nothing is written then), ValueError
    for people or minutes that are not possible, OSError, in words, where the folder cannot be written to.
    """
    folder, made = Path(folder), sheets(study=study, people=people, minutes=minutes, live_lathe=live_lathe)
    there = [name for name in made if (folder / name).exists()]
    if there and not overwrite:
        raise FileExistsError(f"{folder}: {', '.join(there)} {'is' if len(there) == 1 else 'are'} there already, and "
                              "nothing was written; choose another folder, or say that they may be replaced: "
                              "--overwrite, in Python overwrite=True")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        return [tables.put(folder / name, content) for name, content in made.items()]
    except OSError as error:
        raise type(error)(f"{folder}: cannot write there ({error.strerror or error}); choose another folder, or ask "
                          f"for the right to write in this one") from error
