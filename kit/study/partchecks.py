"""What a part can be: its tubes, shafts and routes checked against each other, each fault with its place and remedy."""
from kit.base import tables, words
from kit.operations import lap
from kit.study import studyfile, tomlreading
from kit.study.studyfile import StudyError


def _refuse(words):
    raise StudyError(words)


def _no_shaft(study, tube):
    """Why the shaft route that a tube names makes nothing, and how to mend it."""
    place = f"{study.folder / 'study.toml'}: {tube.name!r}"
    if tube.empty or tube.position not in (None, 0):
        runs = "nothing" if tube.empty else "the sleeve inside it"
        return f"{place} names a 'shaft_route', and {runs} runs in it; take the key out"
    return (f"{place}: its shaft takes the route {tube.shaft_route!r}, which is not there; "
            f"{tables.nearest(tube.shaft_route, study.routes)}")


def _check_shaft(study, tube):
    """A shaft of its own has a route of its own, and is lapped by itself there alone."""
    place, shaft = f"{study.folder / 'study.toml'}: {tube.name!r}", tube.shaft
    if shaft.route in {each.route for each in study.tubes}:
        raise StudyError(f"{place}: tube and shaft cannot take the one route {shaft.route!r}; give the shaft steps of "
                         f"its own")
    if shaft.outside.m <= 0:
        raise StudyError(f"{place}: a clearance of {words.planned(tube.clearance)} leaves nothing of the shaft in a "
                         f"bore of {words.planned(tube.bore)}; give less")
    if any(step.get("lap") == lap.RING for step in study.routes.get(tube.route, ())):
        raise StudyError(f"{place}: its route {tube.route!r} has a {lap.RING!r}, and what runs in it has a route of "
                         f"its own, {shaft.route!r}; move that step there")


def _check_lengths(study, tube):
    """Lengths of another bore or outside leave a rest, have metal between them, and are cut, not formed."""
    place = f"{study.folder / 'study.toml'}, {tube.name!r}"
    stepped = sum(each.length for each in tube.lengths)
    if stepped >= tube.length:
        raise StudyError(f"{place}: its lengths are {words.planned(stepped)} together, and the whole is "
                         f"{words.planned(tube.length)}; leave a rest of its own bore and outside")
    for each in tube.lengths:
        bore, outside = tube.sizes(each)
        if each.bore is None and each.outside is None:
            raise StudyError(f"{place}: a length of {words.planned(each.length)} has neither a bore nor an outside of "
                             f"its own; give one, or take it out")
        if bore >= outside:
            raise StudyError(f"{place}: a length of {words.planned(each.length)} has a bore of {words.planned(bore)} "
                             f"in an outside of {words.planned(outside)}; no wall is left")
        if each.bore is not None and each.bore <= tube.core:
            raise StudyError(f"{place}: a length has a bore of {words.planned(each.bore)}, and the core leaves a hole "
                             f"of {words.planned(tube.core)}; take a thinner core, or a wider bore")
    formed = [step["operation"] for step in study.routes[tube.route]
              if step.get("operation") in ("wrap", "draw", "hammer")]
    if formed:
        raise StudyError(f"{place}: a tube that is to {formed[0]!r} is the same all along; take its lengths out")


def _check_nested(study):
    """A collar stands clear of the sleeve that runs over it, and a neck lets the one inside through."""
    nest = sorted((each for each in study.tubes if each.position is not None), key=lambda each: each.position)
    for inner, outer in zip(nest, nest[1:]):
        place = f"{study.folder / 'study.toml'}, {inner.name!r}"
        collars = [each for each in inner.lengths if inner.sizes(each)[1] >= outer.bore and not any(
            outer.sizes(wide)[0] > inner.sizes(each)[1] and wide.length >= each.length for wide in outer.lengths)]
        free = inner.length - sum(each.length for each in collars)
        if collars and outer.guided > free:
            raise StudyError(f"{place}: what stands out on it leaves {words.planned(free)} free, and the sleeve "
                             f"{outer.name!r}, of bore {words.planned(outer.bore)}, runs over "
                             f"{words.planned(outer.guided)} of it; lengthen the one, shorten the other, or give it an "
                             f"'overlap'")
        necks = [each for each in outer.lengths if outer.sizes(each)[0] <= inner.outside and not any(
            inner.sizes(thin)[1] < outer.sizes(each)[0] and thin.length >= each.length for thin in inner.lengths)]
        if necks:
            raise StudyError(f"{place}: its outside of {words.planned(inner.outside)} does not pass the length of bore "
                             f"{words.planned(outer.sizes(necks[0])[0])} of the sleeve {outer.name!r}; widen that, or "
                             f"give this one as long an end of less outside")


def check(study):
    """Raises StudyError for a part of a Plan that nobody can make, or that its routes do not make."""
    if study.use:
        studyfile.check_use(study.use, study.use, study.part, lambda key: f"{study.folder / 'study.toml'}, [use]",
                            _refuse)
    names = [t.name for t in study.parts]
    if not names:
        raise StudyError(f"{study.folder / 'study.toml'}, [part]: no sleeves and no barrels; there is nothing to make")
    for name in names:
        if names.count(name) > 1:
            raise StudyError(f"{study.folder / 'study.toml'}, [part]: two tubes are called {name!r}; give each its own "
                             f"name")
    for t in study.tubes:
        if t.route not in study.routes:
            raise StudyError(f"{study.folder / 'study.toml'}: tube {t.name!r} takes the route {t.route!r}, which is "
                             f"not there; "
                             f"{tables.nearest(t.route, study.routes)}")
        if t.shaft_route is not None and t.shaft is None:
            raise StudyError(_no_shaft(study, t))
        if t.shaft is not None:
            _check_shaft(study, t)
        if t.lengths:
            _check_lengths(study, t)
        if t.plunger is not None and t.position is not None:
            raise StudyError(f"{study.folder / 'study.toml'}: sleeve {t.name!r} has a plunger; what a plunger runs in "
                             f"is a barrel, under [[part.barrels]]")
        if t.overlap is not None and t.overlap > t.length:
            raise StudyError(f"{study.folder / 'study.toml'}, {t.name!r}: an overlap of {words.planned(t.overlap)} is "
                             f"more than its length of {words.planned(t.length)}; shorten the one or lengthen the "
                             "other")
        if not t.empty and not t.packing and -study.workshop.left_on >= t.clearance and any(
                step.get("operation") == "lap" for step in study.routes[t.route]):
            place = tomlreading.place(study.folder, "left_on", "workshop")
            raise StudyError(f"{place}: what runs in {t.name!r} is left {words.planned(-study.workshop.left_on)} "
                             f"under size, and its clearance is "
                             f"{words.planned(t.clearance)}: nothing is left to lap; leave it larger, or take the laps "
                             f"out of the route {t.route!r}: then it is fitted by turning")
        if t.plunger is not None and t.plunger > t.length:
            raise StudyError(f"{study.folder / 'study.toml'}, {t.name!r}: a plunger of {words.planned(t.plunger)} is "
                             f"longer "
                             f"than its bore of {words.planned(t.length)}; shorten the one or lengthen the other")
        if t.clearance >= 2 * t.wall:
            raise StudyError(f"{study.folder / 'study.toml'}, {t.name!r}: a clearance of {words.planned(t.clearance)} "
                             f"leaves no "
                             f"wall of {words.planned(t.wall)}; "
                             "give less clearance, or a thicker wall")
    _check_nested(study)
