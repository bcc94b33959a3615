"""Obstacle fields for the route finder: 200 with a way through, made from fixed numbers.

    python ways_cases.py > cases.json          (numpy, scipy)

Lengths in mm. Ends are where the bends may begin: the straight leads are left out. `need` is the
distance that the centreline keeps from every obstacle, `radius` its smallest radius.
"""

import json
import sys

import numpy as np
from scipy.spatial import ConvexHull
from scipy.spatial.transform import Rotation

SIZE = np.array([600.0, 450.0, 320.0])


def unit(v):
    return v / np.linalg.norm(v)


class Field:
    """Exact signed distance to the nearest of some obstacles, for many points at once."""

    def __init__(self, obstacles):
        self.parts = [part(o) for o in obstacles]

    def __call__(self, points):
        points = np.atleast_2d(np.asarray(points, float))
        return np.min([p(points) for p in self.parts], axis=0)


def part(o):
    if "box" in o:
        centre, half = np.array(o["box"]["at"]), np.array(o["box"]["half"])
        turn = Rotation.from_quat(o["box"]["turn"]).as_matrix()

        def box(p):
            q = np.abs((p - centre) @ turn) - half
            return np.linalg.norm(np.maximum(q, 0), axis=1) + np.minimum(q.max(axis=1), 0)

        return box
    if "bar" in o:
        a, b, r = np.array(o["bar"]["from"]), np.array(o["bar"]["to"]), o["bar"]["radius"]
        length = np.linalg.norm(b - a)
        axis = (b - a) / length

        def bar(p):
            along = (p - a) @ axis
            aside = np.linalg.norm(p - a - along[:, None] * axis, axis=1)
            q = np.stack([aside - r, np.abs(along - length / 2) - length / 2], axis=1)
            return np.linalg.norm(np.maximum(q, 0), axis=1) + np.minimum(q.max(axis=1), 0)

        return bar
    points = np.array(o["hull"])
    hull = ConvexHull(points)
    normals, offsets = hull.equations[:, :3], hull.equations[:, 3]
    triangles = points[hull.simplices]

    def hull_distance(p):
        over = (p @ normals.T + offsets).max(axis=1)
        out = over > 0
        result = over.copy()
        if out.any():
            result[out] = np.min([to_triangle(p[out], *t) for t in triangles], axis=0)
        return result

    return hull_distance


def to_triangle(p, a, b, c):
    """Distance from points to one triangle: the face where the foot falls into it, else an edge."""
    ab, ac = b - a, c - a
    n = unit(np.cross(ab, ac))
    best = np.full(len(p), np.inf)
    inside = np.ones(len(p), bool)
    for u, v in ((a, b), (b, c), (c, a)):
        e = v - u
        t = np.clip(((p - u) @ e) / (e @ e), 0, 1)
        best = np.minimum(best, np.linalg.norm(p - u - t[:, None] * e, axis=1))
        inside &= ((p - u) @ np.cross(n, e)) >= 0
    return np.where(inside, np.abs((p - a) @ n), best)


def rounded(values, digits=2):
    return [round(float(v), digits) for v in values]


def some_direction(rng, along, within):
    while True:
        d = unit(rng.normal(size=3))
        if d @ along >= np.cos(np.radians(within)):
            return d


def box(at, half, turn=(0, 0, 0, 1)):
    return {"box": {"at": rounded(at), "half": rounded(half), "turn": rounded(turn, 6)}}


def random_obstacle(rng, low, high):
    at = rng.uniform([60, 0, 0], SIZE - [60, 0, 0])
    kind = rng.integers(3)
    size = rng.uniform(low, high, 3)
    if kind == 0:
        turn = Rotation.random(rng=rng).as_quat() if rng.random() < 0.6 else (0, 0, 0, 1)
        if not isinstance(turn, tuple):
            turn = np.array(rounded(turn, 6))
            turn = turn / np.linalg.norm(turn)
        return box(at, size / 2 * [1.4, 1.0, 0.7], turn)
    if kind == 1:
        along = unit(rng.normal(size=3)) * rng.uniform(2 * low, 2.2 * high)
        return {"bar": {"from": rounded(at - along / 2), "to": rounded(at + along / 2),
                        "radius": round(float(size[0] / 3), 2)}}
    corners = at + unit_rows(rng.normal(size=(12, 3))) * size * 0.65
    return {"hull": [rounded(c) for c in corners]}


def unit_rows(m):
    return m / np.linalg.norm(m, axis=1)[:, None]


def wall(rng, need, slit):
    """A wall across the field with one way through: a hole or a slit little wider than the line needs."""
    x, thick = rng.uniform(270, 330), rng.uniform(3, 30)
    y, z = rng.uniform(90, 360), rng.uniform(70, 250)
    free = rng.uniform(2, 24)
    wide, tall = need + free / 2, need + free / 2
    if slit:
        tall = need + rng.uniform(20, 60)
    far = 1500.0
    h = thick / 2
    return [
        box((x, y - wide - far, z), (h, far, far)), box((x, y + wide + far, z), (h, far, far)),
        box((x, y, z - tall - far), (h, wide, far)), box((x, y, z + tall + far), (h, wide, far)),
    ]


def case(rng, kind):
    od = float(rng.choice([6, 8, 10, 12]))
    radius, need = round(od * rng.uniform(3.5, 6.0), 1), od / 2 + 3
    obstacles = []
    if kind in ("hole", "slit"):
        obstacles += wall(rng, need, kind == "slit")
        count, low, high = int(rng.integers(2, 6)), 30, 90
    elif kind == "crowd":
        count, low, high = int(rng.integers(18, 26)), 30, 90
    else:
        count, low, high = int(rng.integers(7, 14)), 50, 150
    obstacles += [random_obstacle(rng, low, high) for _ in range(count)]
    wild = rng.random() < 0.25
    ends = []
    for x in (rng.uniform(10, 70), rng.uniform(530, 590)):
        at = np.array([x, rng.uniform(40, 410), rng.uniform(30, 290)])
        ends.append((rounded(at), rounded(some_direction(rng, np.array([1.0, 0, 0]), 130 if wild else 65), 6)))
    field = Field(obstacles)
    for (at, towards), way in zip(ends, (1, -1)):
        run = np.array(at) + np.outer(np.linspace(0, 1.0 * radius, 12), np.array(towards) * way)
        if field(run).min() < need + 1.0:
            return None
    (a, ta), (b, tb) = ends
    # Nothing to do where the straight run is free; most cases should have something in the way.
    straight = np.array(a) + np.outer(np.linspace(0, 1, 200), np.array(b) - np.array(a))
    if field(straight).min() > need and rng.random() < 0.9:
        return None
    return {"kind": kind, "radius": radius, "need": need, "from": {"at": a, "towards": ta},
            "to": {"at": b, "towards": tb}, "obstacles": obstacles}


def cases():
    made = []
    for kind, count, start in (("scatter", 130, 1), ("crowd", 30, 2), ("hole", 20, 3), ("slit", 20, 4)):
        rng = np.random.default_rng(1000 + start)
        while count:
            found = case(rng, kind)
            if found:
                made.append(found)
                count -= 1
    return made


if __name__ == "__main__":
    json.dump(cases(), sys.stdout, separators=(",", ":"))
