"""Gaps between a box and a closed terrain of 102,146 triangles in 1,000 poses: coal and numpy.

    pip install coal==3.0.3 trimesh==5.2.0 numpy==2.4.6
    python terrain.py            # writes data/terrain.json, 10 minutes on one core
    python terrain.py --time     # prints coal's time, ns per query, for the bench `gaps`

Units mm. The terrain is z = H(x, y) on a grid of 225 x 225 over 2 m x 2 m, its corners rounded to
single precision, made solid by walls and a floor at z = -200; tests/referees/shapes.rs builds the same.
A pose is (x, y, z, qx, qy, qz, qw) of a box of 220 x 120 x 110 about its own middle; the quaternion is
normalised before use.

Answers
- apart: coal's distance between the box and the closed mesh.
- overlapping (coal's collide says so, or the box lies wholly below the ground): minus the shortest
  straight move that sets the box free, from the terrain as a solid. The terrain is the union of upright
  prisms below its triangles, so the moves that don't free the box are the union of convex sets, each
  bounded by planes that support functions give exactly (the Minkowski sum of prism and box). The
  shortest move up and aside is searched over cells of (x, y) with a proven bound for each cell until
  best and bound lie within 0.01 mm; moves out below the floor or through a side are planes. coal's own
  depth is per triangle, which is another question.
"""

import heapq
import json
import pathlib
import sys
import time

import coal
import numpy as np

HERE = pathlib.Path(__file__).parent
HALF = np.array([110.0, 60.0, 55.0])
CLOSE = 0.01
FLOOR, SIDE = -200.0, 1000.0


def height(x, y):
    return 60 * np.sin(x / 130) * np.cos(y / 170) + 25 * np.sin(x / 37 + 1) * np.sin(y / 41) + 8 * np.sin((x + 2 * y) / 11)


def terrain():
    n = 225
    g = np.linspace(-1000, 1000, n)
    x, y = np.meshgrid(g, g, indexing="ij")
    v = np.stack([x, y, height(x, y)], -1).reshape(-1, 3).astype("f4").astype(float)
    i, j = np.meshgrid(np.arange(n - 1), np.arange(n - 1), indexing="ij")
    a = (i * n + j).ravel()
    b, c, d = a + n, a + 1, a + n + 1
    top = np.concatenate([np.stack([a, b, d], 1), np.stack([a, d, c], 1)])
    ring = np.concatenate([np.arange(n) * n, (n - 1) * n + np.arange(1, n), np.arange(n - 2, -1, -1) * n + n - 1, np.arange(n - 2, 0, -1)])
    low = v[ring].copy()
    low[:, 2] = FLOOR
    base, m = len(v), len(ring)
    k = np.arange(m)
    k2 = (k + 1) % m
    centre = base + m
    walls = np.concatenate([np.stack([ring[k], ring[k2], base + k2], 1), np.stack([ring[k], base + k2, base + k], 1)])
    floor = np.stack([base + k2, base + k, np.full(m, centre)], 1)
    v = np.vstack([v, low, [[0, 0, FLOOR]]])
    f = np.vstack([top, walls[:, ::-1], floor])
    return v, f, top


def poses():
    rng = np.random.default_rng(42)
    p = rng.uniform(-800, 800, (1000, 2))
    z = height(p[:, 0], p[:, 1]) + rng.uniform(-60, 500, 1000)
    q = rng.normal(size=(1000, 4))
    q /= np.linalg.norm(q, axis=1, keepdims=True)
    return np.column_stack([np.round(p, 3), np.round(z, 3), np.round(q, 6)])


def turn(q):
    x, y, z, w = q / np.linalg.norm(q)
    return np.array([
        [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
        [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
        [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)]])


V, F, TOP = terrain()


def model():
    made = coal.BVHModelOBBRSS()
    made.beginModel(len(F), len(V))
    pts, tris = coal.StdVec_Vec3s(), coal.StdVec_Triangle()
    for p in V:
        pts.append(p)
    for t in F:
        tris.append(coal.Triangle(*[int(x) for x in t]))
    made.addSubModel(pts, tris)
    made.endModel()
    return made


class Exits:
    """The upper boundary of the moves that don't free the box, over places (x, y)."""

    def __init__(self, pose, aside):
        self.aside = aside
        r = turn(pose[3:])
        self.at = pose[:3]
        reach = np.abs(r) @ HALF
        low, high = V[TOP].min(1), V[TOP].max(1)
        grow = reach[:2] + aside
        near = np.all((high[:, :2] >= self.at[:2] - grow) & (low[:, :2] <= self.at[:2] + grow), axis=1)
        tri = V[TOP[near]]
        e = np.stack([tri[:, 1] - tri[:, 0], tri[:, 2] - tri[:, 1], tri[:, 0] - tri[:, 2]], 1)
        n = np.cross(e[:, 0], e[:, 1])
        axes = [n] + [np.broadcast_to(r[:, k], n.shape) for k in range(3)]
        axes += [np.cross(e[:, i], r[:, k]) for i in range(3) for k in range(3)]
        axes = np.stack(axes, 1)
        size = np.linalg.norm(axes, axis=2, keepdims=True)
        axes = np.where(size > 1e-9, axes / np.maximum(size, 1e-9), np.array([0.0, 0.0, 1.0]))
        axes = np.where(axes[..., 2:] < 0, -axes, axes)
        axes = np.where(axes[..., 2:] < 1e-9, np.array([0.0, 0.0, 1.0]), axes)
        # n . t <= top of the prism along n - bottom of the box along n
        box = np.einsum("tkc,c->tk", axes, self.at) - np.abs(axes @ r) @ HALF
        prism = np.einsum("tkc,tvc->tkv", axes, tri).max(2)
        self.n, self.c = axes, prism - box
        flat = np.array([0.0, 0.0, 1.0])
        sides = [np.stack([e[:, i, 1], -e[:, i, 0], 0 * e[:, i, 0]], 1) for i in range(3)]
        sides += [np.broadcast_to(s * np.cross(flat, r[:, k]), n.shape) for k in range(3) for s in (1, -1)]
        sides = np.stack(sides, 1)
        sides = np.concatenate([sides, -sides[:, :3]], 1)
        box = np.einsum("tkc,c->tk", sides, self.at) - np.abs(sides @ r) @ HALF
        self.m, self.d = sides[..., :2], np.einsum("tkc,tvc->tkv", sides, tri).max(2) - box

    def over(self, which, xy):
        """Heights of some sets over places, and whether they lie over them: (sets, planes, places)."""
        n, c = self.n[which], self.c[which]
        h = (c[..., None] - n[..., :2] @ xy.T) / n[..., 2:]
        out = self.m[which] @ xy.T - self.d[which][..., None]
        return h, out

    def shortest(self, best):
        everything = np.arange(len(self.n))
        best_move = None
        heap, count = [], 0

        def push(which, x, y, w):
            nonlocal count, best, best_move
            xy = np.array([(x - w, y - w), (x + w, y - w), (x - w, y + w), (x + w, y + w), (x, y)])
            h, out = self.over(which, xy)
            inside = np.all(out <= 0, axis=1)
            value = np.where(inside, h.min(1), -np.inf)
            here = max(0.0, value[:, 4].max(initial=0.0))
            found = np.sqrt(x * x + y * y + here * here)
            if found < best:
                best, best_move = found, (x, y, here)
            low = max(0.0, value[:, :4].min(1).max(initial=0.0))
            away = np.hypot(max(abs(x) - w, 0), max(abs(y) - w, 0))
            bound = np.hypot(away, low)
            if bound < best - CLOSE:
                high = h[..., :4].max(2).min(1)
                beside = np.any(np.all(out[..., :4] > 0, axis=2), axis=1)
                count += 1
                heapq.heappush(heap, (bound, count, which[(high >= low) & ~beside], x, y, w))

        push(everything, 0.0, 0.0, self.aside)
        while heap and heap[0][0] < best - CLOSE:
            _, _, which, x, y, w = heapq.heappop(heap)
            w /= 2
            for sx in (-w, w):
                for sy in (-w, w):
                    push(which, x + sx, y + sy, w)
        return best, best_move, count


def answers():
    solid, box = model(), coal.Box(*(2 * HALF))
    rows, stat = [], dict(deep=0, cells=0)
    for pose in poses():
        r = turn(pose[3:])
        here = coal.Transform3s(r, pose[:3])
        req, res = coal.CollisionRequest(), coal.CollisionResult()
        crossing = coal.collide(box, here, solid, coal.Transform3s(), req, res)
        if not crossing and pose[2] > height(pose[0], pose[1]):
            req, res = coal.DistanceRequest(), coal.DistanceResult()
            coal.distance(box, here, solid, coal.Transform3s(), req, res)
            rows.append([*pose, round(res.min_distance, 6)])
            continue
        reach = np.abs(r) @ HALF
        planes = min(pose[2] + reach[2] - FLOOR, *(SIDE + reach[:2] - np.abs(pose[:2])))
        best, move, cells = Exits(pose, planes).shortest(planes)
        # The move found does free the box, and a hundredth less along it doesn't.
        if move is not None:
            for share, hits in ((1 + 2e-3 / best, False), (1 - 0.02 / best, True)):
                there = coal.Transform3s(r, pose[:3] + np.array(move) * share)
                res = coal.CollisionResult()
                coal.collide(box, there, solid, coal.Transform3s(), coal.CollisionRequest(), res)
                assert bool(res.isCollision()) == hits, (pose, move, best, share)
        stat["deep"] += 1
        stat["cells"] += cells
        rows.append([*pose, round(-best, 4)])
    print(stat)
    text = ",\n".join(json.dumps([float(x) for x in row], separators=(",", ":")) for row in rows)
    (HERE / "data" / "terrain.json").write_text("[\n" + text + "\n]\n")


def seconds_per_query(solid, box, here, work):
    rounds = []
    for _ in range(3):
        start = time.perf_counter()
        for at in here:
            work(box, at, solid)
        rounds.append((time.perf_counter() - start) / len(here))
    return sorted(rounds)[1]


def overlaps(box, at, solid):
    res = coal.CollisionResult()
    return coal.collide(box, at, solid, coal.Transform3s(), coal.CollisionRequest(), res) > 0


def timing():
    """coal's own time: distance without a bound where the two are apart, whether anything lies within
    60 mm, whether they overlap."""
    solid, box, origin = model(), coal.Box(*(2 * HALF)), coal.Transform3s()
    here = [coal.Transform3s(turn(pose[3:]), pose[:3]) for pose in poses()]
    apart = [at for at in here if not overlaps(box, at, solid)]

    def whole(box, at, solid):
        req, res = coal.DistanceRequest(), coal.DistanceResult()
        coal.distance(box, at, solid, origin, req, res)

    def within(box, at, solid):
        req, res = coal.CollisionRequest(), coal.CollisionResult()
        req.security_margin = 60.0
        coal.collide(box, at, solid, origin, req, res)

    print(json.dumps(dict(
        distance_ns=seconds_per_query(solid, box, apart, whole) * 1e9,
        within_60_ns=seconds_per_query(solid, box, here, within) * 1e9,
        overlap_ns=seconds_per_query(solid, box, here, overlaps) * 1e9)))


if __name__ == "__main__":
    timing() if "--time" in sys.argv else answers()
