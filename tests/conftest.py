"""Fixtures of the browser; Hypothesis, the same examples on every machine, no time limit on one, since the first fills the caches; and who of
two workers does what."""
import datetime

import pytest
from browsing import browser, lab, page, window  # noqa: F401 (fixtures, for whoever names them)
from hypothesis import settings
from xdist.scheduler import LoadScopeScheduling

settings.register_profile("kit", deadline=None, derandomize=True)
settings.load_profile("kit")

# what takes longest, first
FIRST = ("test_browser", "test_browser_pages", "test_notebooks", "test_writeup", "test_said_one_way", "test_widgets", "test_calibration")
TOGETHER = {"test_browser": "browser", "test_browser_pages": "browser", "test_writeup": "write-up", "test_said_one_way": "write-up"}   # share what is dear to make
APART = ("test_notebooks", "test_fuzz", "test_calibration", "test_killed", "test_readme", "test_main", "test_newstudy")   # their tests share nothing


class ByTime(LoadScopeScheduling):
    """Two workers share the work in pieces: files that share what is dear to make, a file, and the tests of some files one by one."""

    def _split_scope(self, nodeid):
        path = nodeid.partition("::")[0]
        name = path.rpartition("/")[2].removesuffix(".py")
        return TOGETHER.get(name) or (nodeid if name in APART else path)


def pytest_xdist_make_scheduler(config, log):
    return ByTime(config, log)


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items):
    """Longest first; within a file as it was."""
    places = {name: place for place, name in enumerate(FIRST)}
    items.sort(key=lambda item: places.get(item.path.stem, len(FIRST)))


@pytest.fixture(scope="session")
def made(tmp_path_factory):
    """A whole bundle of the demo, small; for reading only."""
    from kit import study, writeup
    return writeup.bundle(study.load(study.DEMO), tmp_path_factory.mktemp("out"), draws=2**10, widths=(90,), formats=("pdf", "svg"),
                          date=datetime.date(2026, 1, 2))
