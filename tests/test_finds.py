"""Walls of a find: a list of readings, and scanned tubes that were made with a known wall, recovered within their resolution."""
import numpy as np
import pytest

from kit import finds, study
from kit.study import StudyError

trimesh = pytest.importorskip("trimesh")
OUTSIDE, WALL, OFF, LENGTH = 5.8, 0.4, 0.06, 60.0   # mm; OFF: of the bore from the outside
FACETS = 180


def tube(outside=OUTSIDE, wall=WALL, off=OFF, length=LENGTH, facets=FACETS, rings=61, dent=0.0, bore=True):
    """Triangles of a tube along z: outside, bore off by so much towards x, both ends closed; a dent outside near the middle."""
    angle, z = np.linspace(0, 2 * np.pi, facets, endpoint=False), np.linspace(0, length, rings)
    vertices, faces = [], []

    def sheet(radius, shift, inward):
        start = len(vertices)
        for height in z:
            for turn in angle:
                r = radius
                if dent and not inward and abs(height - length / 2) < 6 and abs((turn - np.pi + np.pi) % (2 * np.pi) - np.pi) < 0.35:
                    r = radius - dent
                vertices.append([r * np.cos(turn) + shift, r * np.sin(turn), height])
        for ring in range(rings - 1):
            for i in range(facets):
                a, b = start + ring * facets + i, start + ring * facets + (i + 1) % facets
                corners = [[a, b, a + facets], [b, b + facets, a + facets]]
                faces.extend([face[::-1] for face in corners] if inward else corners)
        return start

    out = sheet(outside / 2, 0.0, False)
    if bore:
        inn = sheet(outside / 2 - wall, off, True)
        for end, flip in ((0, True), (rings - 1, False)):
            for i in range(facets):
                o, p = out + end * facets + i, out + end * facets + (i + 1) % facets
                q, r = inn + end * facets + i, inn + end * facets + (i + 1) % facets
                faces.extend([f[::-1] for f in ([o, p, q], [p, r, q])] if flip else [[o, p, q], [p, r, q]])
    return np.array(vertices), np.array(faces)


def saved(path, vertices, faces, turned=True, scale=1.0):
    mesh = trimesh.Trimesh(vertices * scale, faces, process=False)
    if turned:
        mesh.apply_transform(trimesh.transformations.rotation_matrix(1.1, [1, 2, 3]))
        mesh.apply_translation([12.0, -40.0, 7.0])
    mesh.export(path)
    return path


SAG = OUTSIDE / 2 * (1 - np.cos(np.pi / FACETS))   # how far a facet lies inside its circle


@pytest.mark.parametrize("ending", ["stl", "ply", "obj"])
def test_a_tube_of_known_wall_is_recovered_within_its_resolution(ending, tmp_path):
    found = finds.scan(saved(tmp_path / f"tube.{ending}", *tube()))
    assert found.length == pytest.approx(LENGTH, abs=0.05) and found.holes == 0
    assert found.outside == pytest.approx(OUTSIDE, abs=4 * SAG) and found.bore == pytest.approx(OUTSIDE - 2 * WALL, abs=4 * SAG)
    assert np.nanmean(found.wall) == pytest.approx(WALL, abs=0.004)
    assert found.eccentricity == pytest.approx(OFF, rel=0.05)
    assert np.nanmin(found.wall) == pytest.approx(WALL - OFF, abs=0.006) and np.nanmax(found.wall) == pytest.approx(WALL + OFF, abs=0.006)
    true = WALL + OFF * np.cos(np.radians(found.angles - found.angles[np.nanargmax(np.nanmean(found.wall, axis=0))]))
    assert np.nanmax(np.abs(np.nanmean(found.wall, axis=0) - true)) < 0.012   # a cell is ten degrees wide


def test_a_thin_place_is_found_where_it_is(tmp_path):
    found = finds.scan(saved(tmp_path / "dented.stl", *tube(off=0.0, dent=0.12), turned=False))
    thin = found.walls.thin(4)
    assert thin["wall_mm"].iloc[0] == pytest.approx(WALL - 0.12, abs=0.02)
    middle = (found.stations[0] + found.stations[-1]) / 2
    assert all(abs(station - middle) < 8 for station in thin["station_mm"]) and found.eccentricity < 0.01


def test_the_walls_of_a_scan_drive_a_sweep(tmp_path):
    found = finds.scan(saved(tmp_path / "tube.stl", *tube()))
    drawn = found.walls.draws(4000)
    assert float(np.median(drawn.m_as("mm"))) == pytest.approx(WALL, abs=0.02) and "scan, tube.stl" in found.walls.said
    one = study.load(study.DEMO).only("feasts")
    table = finds.sweep_claim(one, found.walls, key="feasts.wall", points=3, draws=2**7)
    assert len(table) == 3 and 0 <= table.attrs["chance"] <= 1
    assert WALL - OFF - 0.02 < table.index.min() < table.index.max() < WALL + OFF + 0.02


def test_a_few_holes_are_told_and_many_refused(tmp_path):
    vertices, faces = tube()
    rng = np.random.default_rng(1)
    some = faces[rng.random(len(faces)) > 0.05]
    found = finds.scan(saved(tmp_path / "holes.stl", vertices, some))
    assert found.holes > 100 and np.nanmean(found.wall) == pytest.approx(WALL, abs=0.006)
    half = faces[vertices[faces].mean(axis=1)[:, 1] > 0.4]
    with pytest.raises(StudyError, match="has no wall that could be taken|no bore|no tube"):
        finds.scan(saved(tmp_path / "half.stl", vertices, half))


@pytest.mark.parametrize("make, unit, said", [
    (lambda: tube(bore=False), "mm", "no bore: the mesh has an outside alone"), (lambda: tube(), "um", "is the unit right\\? In mm"),
    (lambda: tube(), "m", "is the unit right"), (lambda: tube(), "furlong", "unit 'furlong'")])
def test_what_is_no_tube_or_of_another_unit_is_told(make, unit, said, tmp_path):
    with pytest.raises(StudyError, match=said):
        finds.scan(saved(tmp_path / "thing.stl", *make()), unit=unit)


def test_a_ball_a_box_and_a_text_are_no_tubes(tmp_path):
    for thing in (trimesh.creation.icosphere(subdivisions=4, radius=5), trimesh.creation.box(extents=[4, 20, 60]).subdivide().subdivide().subdivide()):
        thing.export(tmp_path / "thing.stl")
        with pytest.raises(StudyError, match="no tube|no bore|no wall"):
            finds.scan(tmp_path / "thing.stl")
    (tmp_path / "text.stl").write_text("solid nothing in it")
    (tmp_path / "photo.jpg").write_bytes(b"no mesh")
    for name in ("text.stl", "photo.jpg", "not-there.ply"):
        with pytest.raises(StudyError, match="not readable as a mesh|too few"):
            finds.scan(tmp_path / name)


def test_units_are_one_tube(tmp_path):
    inches = finds.scan(saved(tmp_path / "inch.stl", *tube(), scale=1 / 25.4), unit="in")
    assert inches.outside == pytest.approx(OUTSIDE, abs=0.02) and np.nanmean(inches.wall) == pytest.approx(WALL, abs=0.01)


def test_calliper_readings_of_a_find(tmp_path):
    path = tmp_path / "walls.csv"
    path.write_text("station_mm,angle_deg,wall_mm,error_mm,note\n5,0,0.42,0.03,\n5,180,0.38,,\n30,0,0.31,0.03,pitted\n,,0.45,,\n")
    found = finds.calliper(path)
    assert found.error.tolist() == [0.03, finds.CALLIPER, 0.03, finds.CALLIPER] and found.thin(1)["station_mm"].item() == 30
    drawn = found.draws(20_000).m_as("mm")
    assert drawn.mean() == pytest.approx(np.mean([0.42, 0.38, 0.31, 0.45]), abs=0.003) and drawn.min() > 0
    path.write_text("wall_mm\n0.4\n")
    with pytest.raises(StudyError, match="two or more"):
        finds.calliper(path)
    path.write_text("wall_mm\n0.4\n0\n")
    with pytest.raises(StudyError, match="line 3.*is a hole"):
        finds.calliper(path)
