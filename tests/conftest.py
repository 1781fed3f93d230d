"""Fixtures of the browser; and Hypothesis: the same examples on every machine, no time limit on one, since the first fills the caches."""
from browsing import browser, lab, page  # noqa: F401 (fixtures, for whoever names them)
from hypothesis import settings

settings.register_profile("kit", deadline=None, derandomize=True)
settings.load_profile("kit")
