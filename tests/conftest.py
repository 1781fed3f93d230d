"""Fixtures of the browser; Hypothesis, the same examples on every machine, no time limit on one, since the first fills the caches; and who of
two workers does what."""
import pytest
from browsing import browser, lab, page, window  # noqa: F401 (fixtures, for whoever names them)
from hypothesis import settings
from xdist.scheduler import LoadScopeScheduling

settings.register_profile("kit", deadline=None, derandomize=True)
settings.load_profile("kit")

# what takes longest, first
FIRST = ("test_browser", "test_browser_pages", "test_notebooks", "test_writeup", "test_widgets", "test_calibration", "test_said_one_way")
APART = ("test_notebooks", "test_fuzz", "test_calibration", "test_killed", "test_readme", "test_main", "test_newstudy")   # their tests share nothing


class ByTime(LoadScopeScheduling):
    """Two workers share the work in pieces: the pages of the browser are one, a file; the tests of some files are taken one by one."""

    def _split_scope(self, nodeid):
        path = nodeid.partition("::")[0]
        name = path.rpartition("/")[2].removesuffix(".py")
        return "browser" if name.startswith("test_browser") else nodeid if name in APART else path


def pytest_xdist_make_scheduler(config, log):
    return ByTime(config, log)


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items):
    """Longest first; within a file as it was."""
    places = {name: place for place, name in enumerate(FIRST)}
    items.sort(key=lambda item: places.get(item.path.stem, len(FIRST)))
