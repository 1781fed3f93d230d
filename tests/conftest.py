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
FIRST = ("test_browser", "test_browser_pages", "test_notebooks", "test_writeup", "test_said_one_way", "test_score", "test_widgets", "test_calibration")
# share what is dear to make
TOGETHER = {"test_browser": "browser", "test_browser_pages": "browser", "test_writeup": "write-up", "test_said_one_way": "write-up",
            "test_score": "write-up"}
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
def worked_and_made(tmp_path_factory):
    """The demo worked out for print, and a whole bundle of it, small; for reading only."""
    from kit import study, writeup
    worked = writeup.WorkedOut(study.load(), 2**10, 1)
    return worked, writeup.bundled(worked, tmp_path_factory.mktemp("out"), widths=(90,), formats=("pdf", "svg"), date=datetime.date(2026, 1, 2))


@pytest.fixture(scope="session")
def worked(worked_and_made):
    return worked_and_made[0]


@pytest.fixture(scope="session")
def made(worked_and_made):
    return worked_and_made[1]
