"""Fixtures of the browser; Hypothesis, the same examples on every machine, no time limit on one, since the first fills the caches; and who of
two workers does what."""
import pytest
from browsing import browser, lab, page  # noqa: F401 (fixtures, for whoever names them)
from hypothesis import settings

settings.register_profile("kit", deadline=None, derandomize=True)
settings.load_profile("kit")


@pytest.hookimpl(tryfirst=True)   # before the groups are read
def pytest_collection_modifyitems(items):
    """Longest first: the browser's pages, the notebooks, the slow tests one by one, then file by file.

    What shares a kernel or a browser stays with one worker, in order; so does a file of quick tests, which share what they set up.
    """
    def place(item):
        if item.get_closest_marker("browser"):
            return 0, "browser"
        if named := item.get_closest_marker("xdist_group"):
            return 0, named.args[0]
        if item.path.suffix == ".ipynb":
            return 1, item.path.name
        return (2, item.nodeid) if item.get_closest_marker("slow") else (3, item.path.name)

    places = {item: place(item) for item in items}
    for item, (_, name) in places.items():
        item.add_marker(pytest.mark.xdist_group(name))
    items.sort(key=lambda item: places[item][0])   # stable: within a group as it was
