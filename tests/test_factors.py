"""Designs over any keys: the same numbers on any executor, kept and resumed; bad input told in a line."""
import json
import os
import signal
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool

import pandas as pd
import pytest

from kit import factors, study
from kit.study import StudyError

ASKED = dict(draws=2**8, criteria=("cord", "turning the outside"))


@pytest.fixture(scope="module")
def one():
    return study.load().only("hours")


@pytest.fixture(scope="module")
def table(one):
    return one.design({"wall": ["0.3 mm", "0.4 mm"], "pulley": ["30 mm", "40 mm"]}, **ASKED)


def test_row_a_point_and_criterion_like_single_verdicts(one, table):
    assert len(table) == 4 * 3 and set(table["criterion"]) == {"all", *ASKED["criteria"]}
    verdict = one.with_(wall="0.3 mm", pulley="40 mm").assess(**ASKED)
    row = table[(table["wall"] == "0.3 mm") & (table["pulley"] == "40 mm")].set_index("criterion")
    assert row["chance"].to_dict() == verdict.chances | {"all": verdict.chance}
    p = row["chance"]
    assert (row["standard_error"] - (p * (1 - p) / 256)**0.5).abs().max() < 1e-12


def test_any_executor_gives_the_same_rows_in_the_same_order(one, table):
    with ThreadPoolExecutor(3) as pool:
        other = one.design({"wall": ["0.3 mm", "0.4 mm"], "pulley": ["30 mm", "40 mm"]}, executor=pool, **ASKED)
    pd.testing.assert_frame_equal(table, other)


@pytest.fixture(scope="module")
def cluster():
    distributed = pytest.importorskip("distributed", reason="the extra `cluster` is not installed")
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=50) as workers:
        with distributed.Client(workers) as client:
            yield client


@pytest.mark.slow
def test_a_cluster_gives_the_same_rows_and_does_the_points_of_a_killed_worker_again(one, table, cluster):
    points = {"wall": ["0.3 mm", "0.4 mm"], "pulley": ["30 mm", "40 mm"]}
    pd.testing.assert_frame_equal(one.design(points, executor=cluster.get_executor(), **ASKED), table)
    killed = {}

    def kill(done, total):
        if not killed:   # with results of its own that are not fetched yet, and points waiting
            killed[next(iter(cluster.run(os.getpid).values()))] = done
            os.kill(next(iter(killed)), signal.SIGKILL)

    many = {"wall": [f"{0.3 + 0.01 * i:.2f} mm" for i in range(10)]}
    found = one.design(many, executor=cluster.get_executor(), progress=kill, **ASKED)
    pd.testing.assert_frame_equal(found, one.design(many, **ASKED))
    assert killed and len(found) == 10 * 3


@pytest.mark.parametrize("error", [CancelledError, type("KilledWorker", (Exception,), {}), ConnectionResetError])
def test_a_cluster_that_is_gone_is_told_like_any_executor(one, error):
    class Gone(Dies):
        def submit(self, function, *args):
            future = Future()
            future.set_exception(error("gone"))
            return future

    with pytest.raises(StudyError, match="the workers stopped before the design was done .*give a folder"):
        one.design({"wall": ["0.3 mm", "0.4 mm"]}, executor=Gone(0), **ASKED)


def test_list_of_points_and_other_studies(one):
    found = one.design([{"study": one, "wall": "0.4 mm"}, {"study": study.load().only("tide"), "wall": "0.4 mm"}], **ASKED)
    assert len(found) == 6 and found.attrs["points"] == 2


class Dies:
    """An executor whose workers are gone after so many points."""

    def __init__(self, after):
        self.left = after

    def submit(self, function, *args):
        future = Future()
        if self.left:
            self.left -= 1
            future.set_result(function(*args))
        else:
            future.set_exception(BrokenProcessPool("gone"))
        return future


def test_dead_workers_are_told_and_a_new_run_goes_on(one, table, tmp_path, monkeypatch):
    points = {"wall": ["0.3 mm", "0.4 mm"], "pulley": ["30 mm", "40 mm"]}
    with pytest.raises(StudyError, match="2 of 4 points are kept"):
        one.design(points, executor=Dies(1), keep=tmp_path / "kept", **ASKED)
    (cut,) = sorted((tmp_path / "kept").glob("[0-9a-f]*.json"))[:1]
    cut.write_text(cut.read_text()[:20])   # a file cut short is judged again
    done, judged = [], factors._judged
    monkeypatch.setattr(factors, "_judged", lambda plan, point, *how: done.append(point) or judged(plan, point, *how))
    pd.testing.assert_frame_equal(one.design(points, keep=tmp_path / "kept", **ASKED), table)
    assert len(done) == 3


def test_folder_of_another_design_is_refused(one, tmp_path):
    one.design({"wall": ["0.4 mm"]}, keep=tmp_path / "kept", **ASKED)
    with pytest.raises(StudyError, match="another study, or of other draws"):
        one.design({"wall": ["0.4 mm"]}, keep=tmp_path / "kept", **ASKED | {"draws": 2**9})
    (tmp_path / "notes").mkdir()
    (tmp_path / "notes/mine.txt").write_text("mine")
    with pytest.raises(StudyError, match="not empty"):
        one.design({"wall": ["0.4 mm"]}, keep=tmp_path / "notes", **ASKED)
    assert (tmp_path / "notes/mine.txt").read_text() == "mine"
    assert json.loads((tmp_path / "kept/design.json").read_text())["draws"] == 2**8


@pytest.mark.parametrize("points, said", [
    ({}, "without points"), ([], "without points"), ({"wall": []}, "'?wall'?"),
    ([{"wall": "0.3 mm"}, {"pulley": "30 mm"}], "the same keys"),
    ({"wall": ["0.3 mm"], "hours.wall": ["0.4 mm"]}, "contradict each other"),
    ({"wall": ["0.3 mm"] * 1000, "pulley": ["30 mm"] * 1000}, "points take about")])
def test_bad_designs_are_told_in_a_line(one, points, said):
    with pytest.raises(StudyError, match=said) as told:
        one.design(points, **ASKED)
    assert "\n" not in str(told.value)


def test_progress_is_told(one):
    told = []
    one.design({"pulley": ["30 mm", "40 mm", "50 mm"]}, progress=lambda done, of: told.append((done, of)), **ASKED)
    assert told[-1] == (3, 3)
