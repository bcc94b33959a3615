"""Volume of a closed surface below a plane: manifold3d and trimesh give the answers.

    pip install manifold3d==3.5.4 trimesh==5.2.0 numpy==2.4.6 mapbox_earcut shapely networkx
    python volumes.py         # writes data/volumes.json

Units mm. A plane is (nx, ny, nz, d), normal not normalised; below means n.p/|n| <= d.
The tank is the outline of data/volumes.json drawn out along x; the ball has 24 x 48 facets
(tests/referees/shapes.rs builds the same).
"""

import importlib.metadata
import json
import pathlib

import manifold3d
import numpy as np
import trimesh

HERE = pathlib.Path(__file__).parent
rng = np.random.default_rng(20240612)

# (y, z), counter-clockwise; hollow-sided, so the liquid stands in two legs.
OUTLINE = [(-50, 40), (-30, 22), (-8, 22), (-8, 60), (8, 60), (8, 22), (34, 22), (50, 40), (50, 112), (42, 120), (-42, 120), (-50, 112)]
FROM, TO = -130.0, -40.0


def tank():
    import mapbox_earcut as earcut

    flat = np.array(OUTLINE, float)
    tri = earcut.triangulate_float64(flat, np.array([len(flat)], dtype=np.uint32)).reshape(-1, 3)
    n = len(flat)
    v = np.concatenate([np.column_stack([np.full(n, x), flat]) for x in (FROM, TO)])
    f = []
    for a, b, c in tri.astype(int):
        area = np.cross(np.append(flat[b] - flat[a], 0), np.append(flat[c] - flat[a], 0))[2]
        if area < 0:
            b, c = c, b
        f += [(a, c, b), (a + n, b + n, c + n)]
    for i in range(n):
        j = (i + 1) % n
        f += [(i, j, j + n), (i, j + n, i + n)]
    return v, np.array(f)


def ball():
    rings, around, radius, centre = 24, 48, 73.0, np.array([20.0, -35.0, 61.0])
    v = [centre + (0, 0, radius)]
    for i in range(1, rings):
        t = np.pi * i / rings
        for j in range(around):
            p = 2 * np.pi * j / around
            v.append(centre + radius * np.array([np.sin(t) * np.cos(p), np.sin(t) * np.sin(p), np.cos(t)]))
    v.append(centre - (0, 0, radius))
    last = len(v) - 1
    ring = lambda i, j: 1 + (i - 1) * around + j % around
    f = []
    for j in range(around):
        f.append((0, ring(1, j), ring(1, j + 1)))
        f.append((last, ring(rings - 1, j + 1), ring(rings - 1, j)))
    for i in range(1, rings - 1):
        for j in range(around):
            f += [(ring(i, j), ring(i + 1, j), ring(i + 1, j + 1)), (ring(i, j), ring(i + 1, j + 1), ring(i, j + 1))]
    return np.array(v), np.array(f)


cases, worst = [], 0.0
for name, (v, f) in (("tank", tank()), ("ball", ball())):
    mesh = trimesh.Trimesh(v, f, process=False)
    assert mesh.is_watertight and mesh.volume > 0
    solid = manifold3d.Manifold(manifold3d.Mesh64(v.astype(np.float64), f.astype(np.uint64)))
    assert abs(solid.volume() - mesh.volume) < 1e-6 * mesh.volume, solid.status()
    for _ in range(100):
        n = np.round(rng.normal(size=3), 4)
        unit = n / np.linalg.norm(n)
        low, high = (v @ unit).min(), (v @ unit).max()
        d = round(float(low + (high - low) * rng.uniform(0.02, 0.98)), 4)
        # trim_by_plane keeps what lies along the normal: turn it round to keep what is below.
        below = solid.trim_by_plane(tuple(-unit), -d).volume()
        other = trimesh.intersections.slice_mesh_plane(mesh, -unit, unit * d, cap=True).volume
        worst = max(worst, abs(below - other) / mesh.volume)
        cases.append([name, [*n.tolist(), d], below])
out = {
    "made_with": f"manifold3d {importlib.metadata.version('manifold3d')}, trimesh {trimesh.__version__}, numpy {np.__version__}; seed 20240612",
    "outline": OUTLINE, "from_mm": FROM, "to_mm": TO, "cases": cases,
}
(HERE / "data" / "volumes.json").write_text(json.dumps(out, separators=(",", ":")).replace("],[\"", "],\n[\"") + "\n")
print(len(cases), "manifold3d-trimesh", worst)
