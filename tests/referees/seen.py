"""Shares of a surface that an eye sees, by trimesh with embreex (trimesh 5, embreex 4.4, numpy).

    python seen.py > data/seen.json

A pump of two boxes and a bar stands among random boxes. 60,000 random points on its outer skin each
look to the eye; a point is seen when its face looks that way and the ray meets nothing. The skin of a
solid inside another one doesn't count. Fixed seed; mm.
"""

import json

import numpy as np
import trimesh

rng = np.random.default_rng(20240617)
POINTS = 60_000
PUMP = [((-60, -40, 0), (60, 40, 80)), ((-100, -25, 20), (0, 25, 120))]
BAR = ((40, 0, 60), (140, 0, 60), 30)


def box(low, high):
    low, high = np.array(low, float), np.array(high, float)
    return trimesh.creation.box(high - low, trimesh.transformations.translation_matrix((low + high) / 2))


def in_box(points, low, high):
    return np.all((points > low) & (points < high), axis=1)


def in_bar(points):
    (x0, y, z), (x1, _, _), radius = BAR
    across = np.hypot(points[:, 1] - y, points[:, 2] - z)
    return (points[:, 0] > x0) & (points[:, 0] < x1) & (across < radius)


bar = trimesh.creation.cylinder(BAR[2], segment=[BAR[0], BAR[1]], sections=720)
solids = [box(*PUMP[0]), box(*PUMP[1]), bar]
inside = [lambda p: in_box(p, *PUMP[0]), lambda p: in_box(p, *PUMP[1]), in_bar]


def skin():
    whole = trimesh.util.concatenate(solids)
    points, faces = trimesh.sample.sample_surface(whole, POINTS, seed=7)
    normals = whole.face_normals[faces]
    outside = points + normals * 0.05
    owner = np.searchsorted(np.cumsum([len(s.faces) for s in solids]), faces, side="right")
    keep = np.ones(len(points), bool)
    for index, holds in enumerate(inside):
        keep &= (owner == index) | ~holds(outside)
    return outside[keep], normals[keep]


points, normals = skin()
cases = []
for _ in range(24):
    eye = rng.normal(size=3)
    eye[2] = abs(eye[2])
    eye = np.round(eye / np.linalg.norm(eye) * rng.uniform(500, 1500), 1)
    bodies = []
    while len(bodies) < 6:
        middle = rng.uniform((-400, -400, 0), (400, 400, 400))
        half = rng.uniform(10, 90, size=3)
        low, high = np.round(middle - half, 1), np.round(middle + half, 1)
        clear = any(low[a] > [141, 41, 121][a] or high[a] < [-101, -41, -1][a] for a in range(3))
        if clear and not in_box(eye[None], low, high)[0]:
            bodies.append((low.tolist(), high.tolist()))
    scene = trimesh.util.concatenate(solids + [box(*b) for b in bodies])
    caster = trimesh.ray.ray_pyembree.RayMeshIntersector(scene, scale_to_box=False)
    way = eye - points
    facing = np.einsum("ij,ij->i", way, normals) > 0
    far = np.linalg.norm(way[facing], axis=1)
    unit = way[facing] / far[:, None]
    origins = points[facing]
    hit = np.full(len(origins), np.inf)
    at, ray, _ = caster.intersects_location(origins, unit, multiple_hits=False)
    hit[ray] = np.linalg.norm(at - origins[ray], axis=1)
    seen = int(np.count_nonzero(hit > far))
    cases.append({"eye": eye.tolist(), "bodies": bodies, "seen_pct": round(100 * seen / len(points), 3)})

print(json.dumps({"pump": PUMP, "bar": BAR, "cases": cases}))
