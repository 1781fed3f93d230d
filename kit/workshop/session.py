"""A workshop session: what the kit expects of the piece, beside what groups of learners predicted and found.

    group = kit.groupfile.start("out/session", "B")
    group, told = group.predict({"wall": ("1.3", "1,45", "about 1.6 mm"), ...})         # locked from here on
    group = group.measure("wall", "A", ["1.44", "1.45", "1.44"])
    kit.session.compare(kit.groupfile.collect("out/session").groups, study)
"""
from kit.workshop.argument import Argued, made, supported, verdict_sentence  # noqa: F401 (what is known as kit.session)
from kit.workshop.expectation import (  # noqa: F401
    clearance_reached, expected, learners, reaming, wall_left)
from kit.workshop.groups import COLUMNS, Hits, combined, compare, hits, tidy  # noqa: F401
