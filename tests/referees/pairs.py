"""Signed gaps of 10,000 random pairs of boxes, cylinders, hulls and meshes, turned.

    pip install coal==3.0.3 python-fcl==0.7.0.11 manifold3d==3.5.4 clarabel==0.11.1 scipy==1.17.1 numpy==2.4.6
    python pairs.py            # writes data/pairs.json, twenty minutes on one core; goes on where it stopped

Units mm. The pairs come from splitmix64 in the order of `pair()` below; tests/referees/pairs.rs draws the
same ones. The first of a pair stands turned at the origin, the second turned somewhere near it.

Answers, all in double precision
- apart, flat faces: coal's distance, compared here with fcl's; where they differ by more than 1e-6, a
  convex programme (Clarabel).
- apart, a cylinder takes part: a convex programme, for a mesh one for each triangle that may be nearest.
- overlapping, convex, flat: smallest distance from the origin to the hull of the Minkowski difference.
- overlapping, convex, a cylinder takes part: the same with a cylinder of 64 sides, then each of its three
  best directions walked downhill on the true support functions.
- overlapping, a mesh and a convex solid: distance from the origin to the surface of their Minkowski
  sum from manifold3d; a cylinder then has 96 sides that keep its cross-section, good to 0.02 mm.
- overlapping, two meshes: null; only the sign counts.
"""

import json
import pathlib
import sys

import clarabel
import coal
import fcl
import manifold3d
import numpy as np
from scipy import sparse
from scipy.optimize import minimize
from scipy.spatial import ConvexHull

HERE = pathlib.Path(__file__).parent
COUNT = 10_000
MASK = (1 << 64) - 1


class Stream:
    """splitmix64."""

    def __init__(self, seed):
        self.state = seed

    def next(self):
        self.state = (self.state + 0x9E3779B97F4A7C15) & MASK
        z = self.state
        z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & MASK
        z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & MASK
        return z ^ (z >> 31)

    def unit(self):
        return (self.next() >> 11) * 2.0**-53

    def between(self, low, high):
        return low + (high - low) * self.unit()


def ring(out, tube, lump):
    """A lumpy ring of 12 x 8 corners, 192 triangles."""
    n, m = 12, 8
    v, f = [], []
    for i in range(n):
        a = 2 * np.pi * i / n
        for j in range(m):
            b = 2 * np.pi * j / m
            t = tube * (1 + lump * np.sin(3 * a) * np.cos(2 * b))
            r = out + t * np.cos(b)
            v.append((r * np.cos(a), r * np.sin(a), t * np.sin(b)))
    for i in range(n):
        for j in range(m):
            a, b = i * m + j, (i + 1) % n * m + j
            c, d = (i + 1) % n * m + (j + 1) % m, i * m + (j + 1) % m
            f += [(a, b, c), (a, c, d)]
    return np.array(v), np.array(f)


class Thing:
    def __init__(self, s):
        self.kind = int(s.unit() * 4)
        if self.kind == 0:
            half = np.array([s.between(10, 100) for _ in range(3)])
            self.v = np.array([(x, y, z) for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)]) * half
        elif self.kind == 1:
            self.radius, self.half = s.between(8, 60), s.between(10, 100)
        elif self.kind == 2:
            size = np.array([s.between(25, 100) for _ in range(3)])
            self.v = np.array([[s.between(-1, 1) for _ in range(3)] for _ in range(10)]) * size
        else:
            self.v, self.f = ring(s.between(60, 100), s.between(18, 35), s.between(0, 0.3))
        self.q = np.array([s.between(-1, 1) for _ in range(4)])
        self.t = np.zeros(3)

    def place(self):
        x, y, z, w = self.q / np.linalg.norm(self.q)
        self.r = np.array([
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)]])
        if self.kind != 1:
            self.w = self.v @ self.r.T + self.t
        if self.kind in (0, 2):
            self.hull = ConvexHull(self.w)

    def polygon(self, sides, radius):
        a = 2 * np.pi * np.arange(sides) / sides
        p = np.column_stack([np.cos(a) * radius, np.sin(a) * radius])
        p = np.vstack([np.column_stack([p, np.full(sides, z)]) for z in (-self.half, self.half)])
        return p @ self.r.T + self.t

    def support(self, d):
        if self.kind == 1:
            e = self.r.T @ d
            return d @ self.t + self.radius * np.hypot(e[0], e[1]) + self.half * abs(e[2])
        return (self.w @ d).max()


def pair(s):
    a, b = Thing(s), Thing(s)
    way = np.array([s.between(-1, 1) for _ in range(3)])
    b.t = way / np.linalg.norm(way) * s.between(0, 330)
    a.place()
    b.place()
    return a, b


def convex_parts(thing):
    """Corner lists of triangles, or the one convex part."""
    return list(thing.w[thing.f]) if thing.kind == 3 else [None if thing.kind == 1 else thing.w]


def programme(a, pa, b, pb):
    """Distance of two convex parts: corners, or None for the cylinder."""
    columns, rows, bounds, cones = 7, [], [], []

    def part(thing, points, at):
        """Rows that make variables at..at+3 a point of the part."""
        nonlocal columns
        if points is not None:
            first, count = columns, len(points)
            columns += count
            return ("hull", at, first, points)
        return ("cylinder", at, thing)

    made = [part(a, pa, 0), part(b, pb, 3)]
    n = columns
    zero_a, zero_b, low_a, low_b, soc = [], [], [], [], []
    for what in made:
        if what[0] == "hull":
            _, at, first, points = what
            for k in range(3):
                row = np.zeros(n)
                row[at + k] = 1
                row[first:first + len(points)] = -points[:, k]
                zero_a.append(row)
                zero_b.append(0)
            row = np.zeros(n)
            row[first:first + len(points)] = 1
            zero_a.append(row)
            zero_b.append(1)
            for k in range(len(points)):
                row = np.zeros(n)
                row[first + k] = -1
                low_a.append(row)
                low_b.append(0)
        else:
            _, at, thing = what
            for sign in (1, -1):
                row = np.zeros(n)
                row[at:at + 3] = sign * thing.r[:, 2]
                low_a.append(row)
                low_b.append(thing.half + sign * thing.r[:, 2] @ thing.t)
            block, right = [np.zeros(n)], [thing.radius]
            for k in range(2):
                row = np.zeros(n)
                row[at:at + 3] = -thing.r[:, k]
                block.append(row)
                right.append(-thing.r[:, k] @ thing.t)
            soc.append((block, right))
    block, right = [np.zeros(n)], [0.0]
    block[0][6] = -1
    for k in range(3):
        row = np.zeros(n)
        row[k], row[3 + k] = -1, 1
        block.append(row)
        right.append(0.0)
    soc.append((block, right))
    rows = zero_a + low_a + [row for block, _ in soc for row in block]
    bounds = zero_b + low_b + [x for _, right in soc for x in right]
    cones = ([clarabel.ZeroConeT(len(zero_a))] if zero_a else []) + ([clarabel.NonnegativeConeT(len(low_a))] if low_a else [])
    cones += [clarabel.SecondOrderConeT(len(block)) for block, _ in soc]
    settings = clarabel.DefaultSettings()
    settings.verbose = False
    settings.tol_gap_abs = settings.tol_gap_rel = settings.tol_feas = 1e-11
    cost = np.zeros(n)
    cost[6] = 1
    found = clarabel.DefaultSolver(
        sparse.csc_matrix((n, n)), cost, sparse.csc_matrix(np.array(rows)), np.array(bounds, float), cones, settings).solve()
    return float(found.x[6])


def ball(thing, points):
    if points is None:
        return thing.t, np.hypot(thing.radius, thing.half)
    middle = points.mean(0)
    return middle, np.linalg.norm(points - middle, axis=1).max()


def by_programmes(a, b):
    parts_a, parts_b = convex_parts(a), convex_parts(b)
    balls_a, balls_b = [ball(a, p) for p in parts_a], [ball(b, p) for p in parts_b]
    low = np.array([[np.linalg.norm(x[0] - y[0]) - x[1] - y[1] for y in balls_b] for x in balls_a])
    best = np.inf
    for flat in np.argsort(low, axis=None):
        i, j = np.unravel_index(flat, low.shape)
        if low[i, j] >= best:
            break
        best = min(best, programme(a, parts_a[i], b, parts_b[j]))
        if best < 1e-7:
            return 0.0
    return best


def coal_geometry(thing):
    if thing.kind == 1:
        return coal.Cylinder(thing.radius, 2 * thing.half)
    points, tris = coal.StdVec_Vec3s(), coal.StdVec_Triangle()
    if thing.kind == 3:
        made = coal.BVHModelOBBRSS()
        made.beginModel(len(thing.f), len(thing.v))
        for p in thing.v:
            points.append(p)
        for t in thing.f:
            tris.append(coal.Triangle(*[int(x) for x in t]))
        made.addSubModel(points, tris)
        made.endModel()
        return made
    hull = ConvexHull(thing.v)
    order = {v: i for i, v in enumerate(hull.vertices)}
    middle = thing.v[hull.vertices].mean(0)
    for v in hull.vertices:
        points.append(thing.v[v])
    for s in hull.simplices:
        p, q, r = thing.v[s]
        t = [order[v] for v in s]
        if np.dot(np.cross(q - p, r - p), p - middle) < 0:
            t[1], t[2] = t[2], t[1]
        tris.append(coal.Triangle(*[int(x) for x in t]))
    return coal.Convex(points, tris)


def fcl_geometry(thing):
    if thing.kind == 3:
        made = fcl.BVHModel()
        made.beginModel(len(thing.v), len(thing.f))
        made.addSubModel(thing.v, thing.f)
        made.endModel()
        return made
    hull = ConvexHull(thing.v)
    order = {v: i for i, v in enumerate(hull.vertices)}
    faces = []
    middle = thing.v[hull.vertices].mean(0)
    for s in hull.simplices:
        p, q, r = thing.v[s]
        t = [order[v] for v in s]
        if np.dot(np.cross(q - p, r - p), p - middle) < 0:
            t[1], t[2] = t[2], t[1]
        faces.append([3, *t])
    return fcl.Convex(thing.v[hull.vertices], len(faces), np.array(faces).flatten())


def flat_distance(a, b):
    request, result = coal.DistanceRequest(), coal.DistanceResult()
    request.gjk_tolerance, request.gjk_max_iterations = 1e-12, 2000
    coal.distance(coal_geometry(a), coal.Transform3s(a.r, a.t), coal_geometry(b), coal.Transform3s(b.r, b.t), request, result)
    ours = max(result.min_distance, 0.0)
    request, result = coal.CollisionRequest(), coal.CollisionResult()
    if coal.collide(coal_geometry(a), coal.Transform3s(a.r, a.t), coal_geometry(b), coal.Transform3s(b.r, b.t), request, result):
        ours = 0.0
    other = max(fcl.distance(
        fcl.CollisionObject(fcl_geometry(a), fcl.Transform(a.r, a.t)),
        fcl.CollisionObject(fcl_geometry(b), fcl.Transform(b.r, b.t)), fcl.DistanceRequest(), fcl.DistanceResult()), 0.0)
    if abs(ours - other) > 1e-6:
        settled = by_programmes(a, b)
        STAT["settled"] += 1
        return settled
    return ours


def convex_depth(a, b):
    pa = a.w if a.kind != 1 else a.polygon(64, a.radius)
    pb = b.w if b.kind != 1 else b.polygon(64, b.radius)
    pa, pb = pa[ConvexHull(pa).vertices], pb[ConvexHull(pb).vertices]
    hull = ConvexHull((pa[:, None] - pb[None]).reshape(-1, 3), qhull_options="QJ" if 1 in (a.kind, b.kind) else "Qt")
    if 1 not in (a.kind, b.kind):
        return float((-hull.equations[:, 3]).min())

    def over(d):
        d = d / np.linalg.norm(d)
        return a.support(d) + b.support(-d)

    order = np.argsort(-hull.equations[:, 3])
    starts, kept = [], []
    for k in order:
        n = hull.equations[k, :3]
        if all(n @ m < 0.98 for m in kept):
            kept.append(n)
            starts.append(n)
        if len(starts) == 3:
            break
    starts += [x for t in (a, b) if t.kind == 1 for x in (t.r[:, 2], -t.r[:, 2])]
    return min(float(minimize(over, s, method="Nelder-Mead", options=dict(xatol=1e-7, fatol=1e-8, maxiter=400)).fun) for s in starts)


def solid(points, faces):
    return manifold3d.Manifold(manifold3d.Mesh64(np.ascontiguousarray(points, float), np.ascontiguousarray(faces, np.uint64)))


def way_out(made):
    made = made.to_mesh64()
    tri = np.asarray(made.vert_properties)[:, :3][np.asarray(made.tri_verts).astype(int)]
    return float(nearest_to_origin(tri).min())


def mesh_depth(mesh, convex):
    # Free are the moves t of the mesh for which no point of it meets the convex solid.
    if convex.kind == 1:
        return mesh_depth_round(mesh, convex)
    middle = convex.w.mean(0)
    mirrored = manifold3d.Manifold.hull_points(-(convex.w - middle))
    return way_out(solid(mesh.w - middle, mesh.f).minkowski_sum(mirrored))


def mesh_depth_round(mesh, cylinder):
    # In the cylinder's own frame; its mirror image is itself.
    whole = solid((mesh.w - cylinder.t) @ cylinder.r, mesh.f)

    def prism(sides):
        step = 2 * np.pi / sides
        radius, a = cylinder.radius * np.sqrt(step / np.sin(step)), step * np.arange(sides)
        round_ = np.column_stack([np.cos(a) * radius, np.sin(a) * radius])
        ends = [np.column_stack([round_, np.full(sides, z)]) for z in (-cylinder.half, cylinder.half)]
        return manifold3d.Manifold.hull_points(np.vstack(ends))

    # A cylinder of 12 sides differs by at most 4.5 % of the radius from the true one: no shorter way out
    # leaves the box grown by so much, so what of the mesh lies outside the box can't hold it.
    rough = way_out(whole.minkowski_sum(prism(12)))
    grown = rough + 0.1 * cylinder.radius + 1
    half = np.array([cylinder.radius, cylinder.radius, cylinder.half]) + grown
    near = whole ^ manifold3d.Manifold.cube(tuple(2 * half), True)
    fine = way_out(near.minkowski_sum(prism(96)))
    return fine if fine < grown - 0.1 else way_out(whole.minkowski_sum(prism(96)))


def nearest_to_origin(tri):
    a, b, c = tri[:, 0], tri[:, 1], tri[:, 2]

    def segment(p, q):
        d = q - p
        t = np.clip(-(p * d).sum(1) / np.maximum((d * d).sum(1), 1e-30), 0, 1)
        return np.linalg.norm(p + d * t[:, None], axis=1)

    best = np.minimum(np.minimum(segment(a, b), segment(b, c)), segment(c, a))
    n = np.cross(b - a, c - a)
    size = np.linalg.norm(n, axis=1)
    n = n / np.maximum(size, 1e-30)[:, None]
    h = (a * n).sum(1)
    foot = n * h[:, None]
    inside = size > 1e-12
    for p, q in ((a, b), (b, c), (c, a)):
        inside &= (np.cross(q - p, foot - p) * n).sum(1) >= 0
    return np.where(inside, np.minimum(best, abs(h)), best)


STAT = dict(settled=0)


def contains(mesh, point):
    """Winding number of a closed mesh about a point."""
    a, b, c = (mesh.w[mesh.f[:, k]] - point for k in range(3))
    la, lb, lc = (np.linalg.norm(x, axis=1) for x in (a, b, c))
    top = (a * np.cross(b, c)).sum(1)
    low = la * lb * lc + (a * b).sum(1) * lc + (b * c).sum(1) * la + (c * a).sum(1) * lb
    return abs(np.arctan2(top, low).sum() / (2 * np.pi)) > 0.5


def answer(a, b):
    cylinder = 1 in (a.kind, b.kind)
    distance = by_programmes(a, b) if cylinder else flat_distance(a, b)
    meshes = [t for t in (a, b) if t.kind == 3]
    hidden = distance > 0 and any(
        contains(m, (o.t if o.kind == 1 else o.w[0])) for m, o in ((a, b), (b, a)) if m.kind == 3)
    if distance > 1e-7 and not hidden:
        return round(distance, 6)
    if len(meshes) == 2:
        return None
    if meshes:
        mesh, convex = (a, b) if a.kind == 3 else (b, a)
        return -round(mesh_depth(mesh, convex), 4)
    return -round(convex_depth(a, b), 6)


def main():
    file = HERE / "data" / "pairs.json"
    answers = [x for x in json.loads(file.read_text())] if file.exists() else []
    stream = Stream(20261125)
    for k in range(COUNT):
        a, b = pair(stream)
        if k < len(answers):
            continue
        answers.append(answer(a, b))
        if len(answers) % 100 == 0:
            lines = [json.dumps(answers[k:k + 10], separators=(",", ":"))[1:-1] for k in range(0, len(answers), 10)]
            file.write_text("[\n" + ",\n".join(lines) + "\n]\n")
            print(len(answers), STAT, file=sys.stderr, flush=True)


if __name__ == "__main__":
    main()
