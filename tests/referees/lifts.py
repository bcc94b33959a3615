"""How far boxes, hulls, rings and cylinders stand out of a wavy sheet, or stay behind it.

    pip install numpy==2.4.6 scipy==1.17.1
    python lifts.py            # writes data/lifts.json, about a minute

Units mm. The sheet is z = height(x, y) over a square of 480 mm, 24 x 24 squares cut in two along the diagonal
from (0, 0) to (1, 1); its front is up. tests/referees/lifts.rs builds the same one.

Answer, in double precision, by brute force: the distance from a point to the sheet is that to the nearest
of its triangles that can be nearest, each by the formula of its foot; a point is in front when it is higher than
the sheet at its x and y. Over the triangles of a thing the largest distance in front is searched by cutting
triangles in two until none left can beat the best by 0.002 mm, since the distance changes by no more
than the way; things of which too much is as far out to end this soon are left out. Things wholly behind: minus the smallest distance, found the same way. A cylinder is asked as a
prism of 360 sides, good to 0.002 mm.
"""

import itertools
import json
import pathlib
import sys

import numpy as np
from scipy.spatial import ConvexHull, cKDTree
from scipy.spatial.transform import Rotation

HERE = pathlib.Path(__file__).parent
CASES, SIDE, HALF, CLOSE = 120, 24, 240.0, 0.002
STEP = 2 * HALF / SIDE


def height(x, y):
    return 14 * np.sin(x / 31.0) * np.cos(y / 43.0) + 5 * np.sin((x + 2 * y) / 23.0)


def sheet():
    at = -HALF + STEP * np.arange(SIDE + 1)
    x, y = np.meshgrid(at, at, indexing="ij")
    v = np.stack([x, y, height(x, y)], axis=-1)
    a, b, c, d = v[:-1, :-1], v[1:, :-1], v[1:, 1:], v[:-1, 1:]
    return np.stack([np.stack([a, b, c], 2), np.stack([a, c, d], 2)], 2).reshape(-1, 3, 3)


SHEET = sheet()
MIDDLE = SHEET.mean(1)
REACH = np.linalg.norm(SHEET - MIDDLE[:, None], axis=2).max(1)
TREE = cKDTree(MIDDLE)


def foot_distance(p, tri):
    """Distance of points (n, 3) to triangles (n, 3, 3), pair by pair."""
    def to_edge(a, b):
        d = b - a
        t = np.clip(((p - a) * d).sum(1) / (d * d).sum(1), 0, 1)
        return np.linalg.norm(p - a - d * t[:, None], axis=1)

    a, b, c = tri[:, 0], tri[:, 1], tri[:, 2]
    best = np.minimum(np.minimum(to_edge(a, b), to_edge(b, c)), to_edge(c, a))
    n = np.cross(b - a, c - a)
    n /= np.linalg.norm(n, axis=1)[:, None]
    over = ((p - a) * n).sum(1)
    foot = p - n * over[:, None]
    inside = np.ones(len(p), bool)
    for u, w in ((a, b), (b, c), (c, a)):
        inside &= (np.cross(w - u, foot - u) * n).sum(1) >= 0
    return np.where(inside, abs(over), best)


def distance(points):
    """Distance to the sheet, and whether in front of it."""
    # No farther than straight up or down, so only triangles within that can be nearest.
    over = points[:, 2] - surface(points)
    near = TREE.query_ball_point(points, abs(over) + REACH.max() + 1e-9)
    which = np.repeat(np.arange(len(points)), [len(some) for some in near])
    triangle = np.concatenate([np.array(some, int) for some in near])
    found = np.full(len(points), np.inf)
    np.minimum.at(found, which, foot_distance(points[which], SHEET[triangle]))
    return found, over > 0


def surface(points):
    """Height of the sheet's triangles over or under points."""
    u = np.clip((points[:, :2] + HALF) / STEP, 0, SIDE - 1e-9)
    cell = np.floor(u).astype(int)
    s, t = (u - cell).T
    at = -HALF + STEP * cell
    z = [height(at[:, 0] + STEP * i, at[:, 1] + STEP * j) for i, j in ((0, 0), (1, 0), (1, 1), (0, 1))]
    low = z[0] + s * (z[1] - z[0]) + t * (z[2] - z[1])
    return np.where(t <= s, low, z[0] + t * (z[3] - z[0]) + s * (z[2] - z[3]))


def halves(tri):
    """Each triangle cut in two across its longest side."""
    sides = np.linalg.norm(tri - np.roll(tri, -1, 1), axis=2)
    order = (sides.argmax(1)[:, None] + np.arange(3)) % 3
    a, b, c = np.moveaxis(np.take_along_axis(tri, order[:, :, None], 1), 1, 0)
    ab = (a + b) / 2
    return np.concatenate([np.stack((a, ab, c), 1), np.stack((ab, b, c), 1)])


def most(tri, sign):
    """Largest of sign x signed distance over some triangles (signed: in front is positive)."""
    corners = np.unique(tri.reshape(-1, 3), axis=0)
    best = signed(corners, sign).max()
    open_ = tri
    while len(open_):
        middle = open_.mean(1)
        reach = np.linalg.norm(open_ - middle[:, None], axis=2).max(1)
        value = signed(middle, sign)
        best = max(best, value.max())
        open_ = open_[value + reach > best + CLOSE]
        if len(open_) > 60_000:
            return None
        if len(open_):
            open_ = halves(open_)
            best = max(best, signed(open_[: len(open_) // 2, 1], sign).max())
    return best


def signed(points, sign):
    parts = []
    for some in np.array_split(points, max(1, len(points) // 2000)):
        away, front = distance(some)
        parts.append(sign * np.where(front, away, -away))
    return np.concatenate(parts)


def hull_triangles(points):
    return points[ConvexHull(points).simplices]


def ring(out, tube):
    n, m = 20, 12
    i, j = np.meshgrid(np.arange(n), np.arange(m), indexing="ij")
    a, b = 2 * np.pi * i / n, 2 * np.pi * j / m
    r = out + tube * np.cos(b)
    v = np.stack([r * np.cos(a), r * np.sin(a), tube * np.sin(b)], -1)
    p, q = v, np.roll(v, -1, 0)
    return np.concatenate([
        np.stack([p, q, np.roll(q, -1, 1)], 2).reshape(-1, 3, 3),
        np.stack([p, np.roll(q, -1, 1), np.roll(p, -1, 1)], 2).reshape(-1, 3, 3)])


def thing(kind, size):
    if kind == "box":
        return hull_triangles(np.array([(x, y, z) for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)]) * size)
    if kind == "hull":
        return hull_triangles(np.array(size))
    if kind == "ring":
        return ring(*size)
    return prism(*size)


def prism(radius, half, sides=360, sector=12, bands=8):
    """A prism of many sides, cut into triangles that are no long slivers."""
    a = 2 * np.pi * np.arange(sides + 1) / sides
    rim = np.column_stack([np.cos(a) * radius, np.sin(a) * radius])
    at = lambda k, z: [*rim[k], z]
    found = []
    for z in (-half, half):
        for k in range(0, sides, sector):
            found.append(([0, 0, z], at(k, z), at(k + sector, z)))
            found += [(at(k, z), at(k + i, z), at(k + i + 1, z)) for i in range(1, sector)]
    for low, high in itertools.pairwise(np.linspace(-half, half, bands + 1)):
        for k in range(sides):
            p, q, r, s = at(k, low), at(k + 1, low), at(k + 1, high), at(k, high)
            found += [(p, q, r), (p, r, s)]
    return np.array(found)


def main():
    rng = np.random.default_rng(20261125)
    cases = []
    while len(cases) < CASES:
        kind = ["box", "hull", "ring", "cylinder"][len(cases) % 4]
        size = {
            "box": lambda: rng.uniform(10, 60, 3).round(3).tolist(),
            "hull": lambda: (rng.uniform(-1, 1, (12, 3)) * rng.uniform(20, 60, 3)).round(3).tolist(),
            "ring": lambda: [*rng.uniform(35, 55, 1).round(3), *rng.uniform(8, 20, 1).round(3)],
            "cylinder": lambda: rng.uniform(10, 50, 2).round(3).tolist(),
        }[kind]()
        turn = rng.normal(size=4)
        turn = (turn / np.linalg.norm(turn)).tolist()
        at = [*rng.uniform(-110, 110, 2).round(3), *rng.uniform(-70, 25, 1).round(3)]
        tri = thing(kind, size) @ Rotation.from_quat(turn).as_matrix().T + at
        # Some part must be behind the sheet, or nothing is pushed.
        if signed(np.unique(tri.reshape(-1, 3), axis=0), -1).max() < 0.01:
            continue
        proud = most(tri, 1)
        if proud is not None:
            cases.append(dict(kind=kind, size=size, turn=turn, at=at, proud=round(float(proud), 5)))
        else:
            print("left out", kind, file=sys.stderr, flush=True)
        print(len(cases), kind, proud, file=sys.stderr, flush=True)
    lines = ",\n".join(json.dumps(case, separators=(",", ":")) for case in cases)
    (HERE / "data" / "lifts.json").write_text("[\n" + lines + "\n]\n")


if __name__ == "__main__":
    main()
