"""Draws of what a bench log has taught: whole rows of the update, and what goes on varying within a world."""
import numpy as np

from kit.base.evidence import SHARED


def drawn(held, shared, known, n, seed, worlds=None):
    """(values {key: plain numbers of shape (n,)}, {key: shares of one for the part that all pieces share}), by the
    draws of an update.

    held: its draws, {key: plain numbers}; of what differs from piece to piece a draw for each tube, 'key@tube'. shared:
    {key: normal scores of the part that pieces share}, the same draws. known: assumptions of the plan as they are now.
    worlds: see evidence.draw. Within a world the outer keys keep to one draw of the update; the others vary as the log
    has left them beside those: normal scores by rank, conditioned on the outer ones (a Gaussian copula).
    A pinned key is left out. Where tubes share all or nothing (Plan.sharing), a row that they now share takes the part
    that they shared before, and rows that they no longer share take draws of the update that are independent.
    """
    from scipy import special
    rng, joint, alone = np.random.default_rng(seed), {}, {}
    size, number = len(next(iter(held.values()))), worlds[0] if worlds else int(n)
    tubes = {key.partition("@")[2] for key in known} - {""}
    for key, found in held.items():
        bare, _, tube = key.partition("@")
        if key in known and known[key].shape == "fixed" or bare in known and known[bare].shape == "fixed":
            continue
        if not tube and key in known:
            joint[key] = found
        elif not tube:
            alone |= {f"{key}@{t}": found for t in tubes if f"{key}@{t}" in known}
        elif bare in known:
            joint[bare] = known[bare].quantile(special.ndtr(shared[bare]))
        elif key in known and known[key].each < 1:
            joint[SHARED + bare] = shared[bare]
        elif key in known:
            alone[key] = found
    of_worlds = rng.integers(size, size=number)
    rows = np.repeat(of_worlds, int(n) // number)
    outer = worlds[1] if worlds else ()
    values = _beside({k: v for k, v in joint.items() if k.lstrip(SHARED) in outer},
                     {k: v for k, v in joint.items() if k.lstrip(SHARED) not in outer},
                     rows, rng.integers(size, size=int(n)) if worlds else rows)
    values |= {key: found[rng.integers(size, size=int(n))] for key, found in alone.items()}
    return ({key: x for key, x in values.items() if key[0] != SHARED},
            {key[1:]: special.ndtr(x) for key, x in values.items() if key[0] == SHARED})


def _beside(outer, inner, rows, others):
    """{key: draws}: of the outer keys those in `rows`; of the inner ones those in `others`, moved by as much as their
    normal scores go with those of the outer keys."""
    found = {key: held[rows] for key, held in outer.items()}
    if not outer or not inner or others is rows:
        return found | {key: held[others] for key, held in inner.items()}
    from scipy import special
    about, moved = (np.array([_scores(held) for held in some.values()]) for some in (outer, inner))
    tied = np.linalg.lstsq(about.T, moved.T, rcond=None)[0].T
    at = special.ndtr(moved[:, others] + tied @ (about[:, rows] - about[:, others]))
    return found | {key: np.quantile(held, share) for (key, held), share in zip(inner.items(), at)}


def _scores(held):
    from scipy import special
    return special.ndtri((np.argsort(np.argsort(held)) + 0.5) / len(held))
