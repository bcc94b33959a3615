"""Inside or not, and how far from the skin: trimesh gives the answers.

    pip install trimesh==5.2.0 numpy==2.4.6 rtree embreex
    python inside.py          # writes data/inside.json

The lumpy ring of gaps.py; points mm, [x, y, z, distance], negative inside.
"""

import json
import pathlib

import numpy as np
import trimesh

HERE = pathlib.Path(__file__).parent
rng = np.random.default_rng(20240615)


def ring():
    n, m = 64, 32
    u, v = np.meshgrid(2 * np.pi * np.arange(n) / n, 2 * np.pi * np.arange(m) / m, indexing="ij")
    tube = 50 + 8 * np.sin(3 * u) * np.cos(2 * v)
    out = 150 + tube * np.cos(v)
    verts = np.stack([out * np.cos(u), out * np.sin(u), tube * np.sin(v)], -1).reshape(-1, 3)
    i, j = np.meshgrid(np.arange(n), np.arange(m), indexing="ij")
    a, b = i * m + j, ((i + 1) % n) * m + j
    c, d = ((i + 1) % n) * m + (j + 1) % m, i * m + (j + 1) % m
    faces = np.concatenate([np.stack([a, b, c], -1).reshape(-1, 3), np.stack([a, c, d], -1).reshape(-1, 3)])
    return trimesh.Trimesh(verts, faces, process=False)


mesh = ring()
points = np.round(rng.uniform(-1, 1, (400, 3)) * (230, 230, 75), 3)
inside = mesh.contains(points)
_, distance, _ = trimesh.proximity.closest_point(mesh, points)
signed = np.where(inside, -distance, distance)
rows = [[*p.tolist(), round(float(d), 10)] for p, d in zip(points, signed)]
out = {"made_with": f"trimesh {trimesh.__version__}, numpy {np.__version__}; seed 20240615", "points": rows}
(HERE / "data" / "inside.json").write_text(json.dumps(out, separators=(",", ":")).replace("],[", "],\n[") + "\n")
print(inside.sum(), "inside of", len(points))
