"""Workload W4: a thousand planes through a tank and a ball; manifold3d and trimesh give the volumes below.

    pip install manifold3d==3.5.4 trimesh==5.2.0 numpy==2.4.6 shapely networkx
    python w4.py              # writes data/w4.json

Units mm. Normals within 40 degrees of up, not normalised; below means n.p/|n| <= d. The tank is 56
corners drawn out along x, 220 triangles; the ball has 81 x 80 facets, 12,800 triangles. w4.rs builds the
same.
"""

import importlib.metadata
import json
import pathlib

import numpy as np

HERE = pathlib.Path(__file__).parent


def tank():
    import manifold3d

    a = 2 * np.pi * np.arange(56) / 56
    r = 50 + 14 * np.cos(3 * a) + 6 * np.sin(5 * a)
    flat = np.column_stack([r * np.cos(a), r * np.sin(a)])
    tri = np.asarray(manifold3d.triangulate([flat])).astype(int)
    v = np.concatenate([np.column_stack([np.full(56, x), flat]) for x in (-60.0, 60.0)])
    f = []
    for i, j, k in tri:
        (ux, uy), (wx, wy) = flat[j] - flat[i], flat[k] - flat[i]
        if ux * wy - uy * wx < 0:
            j, k = k, j
        f += [(i, k, j), (i + 56, j + 56, k + 56)]
    for i in range(56):
        j = (i + 1) % 56
        f += [(i, j, j + 56), (i, j + 56, i + 56)]
    return v, np.array(f)


def ball(rings=81, around=80, radius=73.0):
    v = [(0.0, 0.0, radius)]
    for i in range(1, rings):
        t = np.pi * i / rings
        for j in range(around):
            p = 2 * np.pi * j / around
            v.append((radius * np.sin(t) * np.cos(p), radius * np.sin(t) * np.sin(p), radius * np.cos(t)))
    v.append((0.0, 0.0, -radius))
    last, f = len(v) - 1, []
    ring = lambda i, j: 1 + (i - 1) * around + j % around
    for j in range(around):
        f += [(0, ring(1, j), ring(1, j + 1)), (last, ring(rings - 1, j + 1), ring(rings - 1, j))]
    for i in range(1, rings - 1):
        for j in range(around):
            f += [(ring(i, j), ring(i + 1, j), ring(i + 1, j + 1)), (ring(i, j), ring(i + 1, j + 1), ring(i, j + 1))]
    return np.array(v), np.array(f)


def planes():
    return np.array(json.loads((HERE / "data" / "w4.json").read_text())["planes"])


def solid(v, f):
    import manifold3d

    return manifold3d.Manifold(manifold3d.Mesh64(v.astype(np.float64), f.astype(np.uint64)))


if __name__ == "__main__":
    import manifold3d
    import trimesh

    rng = np.random.default_rng(20251125)
    theta, phi = rng.uniform(0, np.radians(40), 1000), rng.uniform(0, 2 * np.pi, 1000)
    cut = np.column_stack([np.sin(theta) * np.cos(phi), np.sin(theta) * np.sin(phi), np.cos(theta), rng.uniform(-70, 70, 1000)]).round(5)
    out, worst = {}, 0.0
    for name, (v, f) in (("tank", tank()), ("ball", ball())):
        mesh, body = trimesh.Trimesh(v, f, process=False), solid(v, f)
        assert mesh.is_watertight and mesh.volume > 0 and len(f) == {"tank": 220, "ball": 12800}[name]
        volumes = []
        for *n, d in cut:
            unit = np.array(n) / np.linalg.norm(n)
            below = body.trim_by_plane(tuple(-unit), -d).volume()
            other = trimesh.intersections.slice_mesh_plane(mesh, -unit, unit * d, cap=True).volume
            # The second referee is asked everywhere; where its cap fails it says so by being far off.
            worst = max(worst, abs(below - other) / mesh.volume)
            volumes.append(float(f"{below:.10g}"))
        out[name] = volumes
        out[name + "_mm3"] = mesh.volume
    made = f"manifold3d {importlib.metadata.version('manifold3d')}, trimesh {trimesh.__version__}, numpy {np.__version__}; seed 20251125"
    data = {"made_with": made, "planes": cut.tolist(), **out}
    (HERE / "data" / "w4.json").write_text(json.dumps(data, separators=(",", ":")) + "\n")
    print("largest difference of manifold3d and trimesh, as a share of the whole:", worst)
