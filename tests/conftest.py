"""Hypothesis: the same examples on every machine; no time limit on one example, since the first fills the caches."""
from hypothesis import settings

settings.register_profile("kit", deadline=None, derandomize=True)
settings.load_profile("kit")
