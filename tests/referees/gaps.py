"""Signed gaps between solids: coal, python-fcl and a Minkowski difference give the answers.

    pip install coal==3.0.3 python-fcl==0.7.0.11 trimesh==5.2.0 scipy==1.17.1 numpy==2.4.6
    python gaps.py            # writes data/gaps.json

Units mm and degrees. A pose is (x, y, z, roll, pitch, yaw): yaw, then pitch, then roll about the
turned axes. `first` is moved by the pose, `second` stands at the origin.

Answers
- apart, flat faces: distance from coal, checked here against fcl.
- apart, a cylinder takes part: a convex programme for each triangle (scipy), since coal is not always
  right there: it says 0.431 for the ring at (220.738, 118.789, 16.126, 46.745, 96.313, 177.063), where the
  programme and fcl both say 1.687, and an overlap of -1.8e308 for the ring at (-62.137, 92.382,
  -95.111, 106.841, -149.163, 18.158), where both say 14.271. fcl's own error with cylinders is up to
  7e-4. The script prints every such case.
- overlapping, both with flat faces: smallest distance from the origin to the hull of the Minkowski
  difference (exact; qhull), checked here against coal.
- overlapping, a cylinder takes part: depth from coal's expanding polytope, polished here by walking
  downhill on the support function, which is exact for the direction found.
- a mesh takes part and skins cross: -1, only the sign counts (coal's depth is per triangle there).
- wholly inside the mesh: minus the distance of its nearest skin point, from coal's distance (the
  skins are apart) and trimesh.contains (it is inside); a true depth is at least that.
"""

import importlib.metadata
import json
import pathlib

import coal
import fcl
import numpy as np
import scipy
import trimesh
from scipy.optimize import minimize
from scipy.spatial import ConvexHull
from scipy.spatial.transform import Rotation

HERE = pathlib.Path(__file__).parent
rng = np.random.default_rng(20240611)


def ring():
    """A lumpy ring of 4,096 triangles; tests/referees/shapes.rs builds the same."""
    n, m = 64, 32
    verts = []
    for i in range(n):
        u = 2 * np.pi * i / n
        for j in range(m):
            v = 2 * np.pi * j / m
            tube = 50 + 8 * np.sin(3 * u) * np.cos(2 * v)
            out = 150 + tube * np.cos(v)
            verts.append((out * np.cos(u), out * np.sin(u), tube * np.sin(v)))
    faces = []
    for i in range(n):
        for j in range(m):
            a, b = i * m + j, ((i + 1) % n) * m + j
            c, d = ((i + 1) % n) * m + (j + 1) % m, i * m + (j + 1) % m
            faces += [(a, b, c), (a, c, d)]
    return np.array(verts), np.array(faces)


def corners(low, high):
    return np.array([(x, y, z) for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])], float)


def hull_points(count, size):
    p = rng.normal(size=(count, 3))
    return np.round(p / np.linalg.norm(p, axis=1, keepdims=True) * size, 3)


BOX = ((-110.0, -60.0, -55.0), (110.0, 60.0, 55.0))
SMALL = ((-12.0, -9.0, -7.0), (12.0, 9.0, 7.0))
PLATE = ((-200.0, -150.0, -20.0), (200.0, 150.0, 20.0))
CYL = (38.0, 116.0)  # radius, length; along z about the origin
HULL_A = hull_points(14, np.array([90.0, 60.0, 40.0]))
HULL_B = hull_points(20, np.array([160.0, 120.0, 60.0]))
RING_V, RING_F = ring()
RING = trimesh.Trimesh(RING_V, RING_F, process=False)
assert RING.is_watertight and RING.volume > 0


def coal_hull(points):
    hull = ConvexHull(points)
    order = {v: i for i, v in enumerate(hull.vertices)}
    pts = coal.StdVec_Vec3s()
    centre = points[hull.vertices].mean(0)
    for v in hull.vertices:
        pts.append(points[v].reshape(3))
    tris = coal.StdVec_Triangle()
    for s in hull.simplices:
        a, b, c = points[s]
        t = [order[v] for v in s]
        if np.dot(np.cross(b - a, c - a), a - centre) < 0:
            t[1], t[2] = t[2], t[1]
        tris.append(coal.Triangle(*[int(x) for x in t]))
    return coal.Convex(pts, tris)


def coal_mesh(v, f):
    model = coal.BVHModelOBBRSS()
    model.beginModel(len(f), len(v))
    pts = coal.StdVec_Vec3s()
    for p in v:
        pts.append(p)
    tris = coal.StdVec_Triangle()
    for t in f:
        tris.append(coal.Triangle(*[int(x) for x in t]))
    model.addSubModel(pts, tris)
    model.endModel()
    return model


def fcl_mesh(v, f):
    model = fcl.BVHModel()
    model.beginModel(len(v), len(f))
    model.addSubModel(v, f)
    model.endModel()
    return model


def fcl_hull(points):
    hull = trimesh.convex.convex_hull(points)
    faces = np.concatenate([np.full((len(hull.faces), 1), 3), hull.faces], axis=1).flatten()
    return fcl.Convex(hull.vertices, len(hull.faces), faces)


def size(box):
    return [h - l for l, h in zip(*box)]


COAL = {
    "box": coal.Box(*size(BOX)), "small": coal.Box(*size(SMALL)), "cylinder": coal.Cylinder(*CYL),
    "hull": coal_hull(HULL_A), "plate": coal.Box(*size(PLATE)), "rock": coal_hull(HULL_B),
    "ring": coal_mesh(RING_V, RING_F),
}
FCL = {
    "box": fcl.Box(*size(BOX)), "small": fcl.Box(*size(SMALL)), "cylinder": fcl.Cylinder(*CYL),
    "hull": fcl_hull(HULL_A), "plate": fcl.Box(*size(PLATE)), "rock": fcl_hull(HULL_B),
    "ring": fcl_mesh(RING_V, RING_F),
}
FLAT = {"box": corners(*BOX), "small": corners(*SMALL), "hull": HULL_A, "plate": corners(*PLATE), "rock": HULL_B}


def turn(pose):
    return Rotation.from_euler("ZYX", [pose[5], pose[4], pose[3]], degrees=True)


def coal_distance(first, second, pose):
    req, res = coal.DistanceRequest(), coal.DistanceResult()
    req.enable_signed_distance = True
    req.gjk_tolerance = 1e-12
    req.gjk_max_iterations = 2000
    req.epa_tolerance = 1e-9
    req.epa_max_iterations = 2000
    here = coal.Transform3s(turn(pose).as_matrix(), np.array(pose[:3]))
    coal.distance(COAL[first], here, COAL[second], coal.Transform3s(), req, res)
    return res.min_distance, np.array(res.normal)


def fcl_distance(first, second, pose):
    x, y, z, w = turn(pose).as_quat()
    a = fcl.CollisionObject(FCL[first], fcl.Transform(np.array([w, x, y, z]), np.array(pose[:3])))
    b = fcl.CollisionObject(FCL[second], fcl.Transform())
    res = fcl.DistanceResult()
    req = fcl.DistanceRequest(enable_signed_distance=False)
    return fcl.distance(a, b, req, res)


def support(name, d):
    if name == "cylinder":
        return CYL[0] * np.hypot(d[0], d[1]) + CYL[1] / 2 * abs(d[2])
    return (FLAT[name] @ d).max()


def overlap_along(first, second, pose, d):
    """How far `first` must move along the unit vector -d to be free of `second`."""
    r = turn(pose)
    return support(first, r.inv().apply(d)) + np.dot(d, pose[:3]) + support(second, -d)


def depth(first, second, pose, hint):
    if first in FLAT and second in FLAT:
        p = turn(pose).apply(FLAT[first]) + np.array(pose[:3])
        diff = (p[:, None, :] - FLAT[second][None, :, :]).reshape(-1, 3)
        return float((-ConvexHull(diff).equations[:, 3]).min())

    def f(q):
        return overlap_along(first, second, pose, q / np.linalg.norm(q))

    starts = [hint, -hint] + list(rng.normal(size=(24, 3)))
    best = min((minimize(f, s, method="Nelder-Mead", options=dict(xatol=1e-10, fatol=1e-10, maxiter=4000)) for s in starts), key=lambda s: s.fun)
    return float(best.fun)


def pose_near(second):
    reach = {"plate": (290, 240, 150), "rock": (230, 190, 130), "ring": (290, 290, 170)}[second]
    return [round(float(v), 3) for v in [*(rng.uniform(-1, 1, 3) * reach), *rng.uniform(-180, 180, 3)]]


SKIN = {name: (np.array(h.vertices), np.array(h.faces)) for name in ("plate", "rock") for h in [trimesh.convex.convex_hull(FLAT[name])]}
SKIN["ring"] = (RING_V, RING_F)


def cylinder_distance(second, pose):
    """Distance from the cylinder to a closed skin apart from it: the least, over the skin's triangles,
    of a convex function (the distance to a cylinder) on a triangle."""
    v, f = SKIN[second]
    v = turn(pose).inv().apply(v - np.array(pose[:3]))  # the skin in the cylinder's frame
    radius, half = CYL[0], CYL[1] / 2

    def away(p):
        return np.hypot(np.maximum(np.hypot(p[..., 0], p[..., 1]) - radius, 0), np.maximum(abs(p[..., 2]) - half, 0))

    tri = v[f]
    middle = tri.mean(1)
    reach = np.linalg.norm(tri - middle[:, None], axis=2).max(1)
    best = away(tri).min()
    for t in sorted(np.flatnonzero(away(middle) - reach <= best), key=lambda t: away(middle[t])):
        if away(middle[t]) - reach[t] > best:
            continue
        a, e, g = tri[t][0], tri[t][1] - tri[t][0], tri[t][2] - tri[t][0]
        for start in ((1 / 3, 1 / 3), (0.1, 0.1), (0.8, 0.1), (0.1, 0.8)):
            found = minimize(
                lambda s: away(a + s[0] * e + s[1] * g) ** 2, start, method="SLSQP", bounds=[(0, 1), (0, 1)],
                constraints=dict(type="ineq", fun=lambda s: 1 - s[0] - s[1], jac=lambda s: np.array([-1.0, -1.0])),
                options=dict(ftol=1e-16, maxiter=300))
            s = np.clip(found.x, 0, 1)
            s /= max(1.0, s.sum())
            best = min(best, float(away(a + s[0] * e + s[1] * g)))
    return best


cases, worst_fcl, worst_coal, worst_walk = [], 0.0, 0.0, 0.0
for k in range(306):
    first = ["box", "cylinder", "hull"][k % 3]
    second = ["plate", "rock", "ring"][(k // 3) % 3]
    pose = pose_near(second)
    d, normal = coal_distance(first, second, pose)
    if first == "cylinder":
        exact = cylinder_distance(second, pose)
        if exact > 1e-6 or d > 0:
            if abs(d - exact) > 1e-6:
                print("coal is off:", second, pose, d, "programme", exact, "fcl", fcl_distance(first, second, pose))
            d = exact
    elif second == "ring" and d <= 0:
        assert fcl_distance(first, second, pose) <= 0
    if d > 0:
        if first != "cylinder":
            worst_fcl = max(worst_fcl, abs(d - fcl_distance(first, second, pose)))
        kind = "apart"
    elif second == "ring":
        d, kind = -1.0, "crossing"
    else:
        exact = depth(first, second, pose, normal)
        if first in FLAT:
            worst_coal = max(worst_coal, abs(-d - exact))
        else:
            worst_walk = max(worst_walk, abs(-d - exact))
        d, kind = -exact, "deep"
    cases.append([first, second, pose, kind, round(d, 10)])

inside = 0
while inside < 30:
    u = rng.uniform(0, 360)
    out = 150 + rng.uniform(-15, 15)
    at = [out * np.cos(np.radians(u)), out * np.sin(np.radians(u)), rng.uniform(-15, 15)]
    pose = [round(float(v), 3) for v in [*at, *rng.uniform(-180, 180, 3)]]
    d, _ = coal_distance("small", "ring", pose)
    placed = turn(pose).apply(FLAT["small"]) + np.array(pose[:3])
    if d > 0 and RING.contains(placed).all():
        cases.append(["small", "ring", pose, "inside", round(-d, 10)])
        inside += 1

out = {
    "made_with": f"coal {coal.__version__}, python-fcl {importlib.metadata.version('python-fcl')}, trimesh {trimesh.__version__}, scipy {scipy.__version__}, numpy {np.__version__}; seed 20240611",
    "hull": HULL_A.tolist(), "rock": HULL_B.tolist(), "cases": cases,
}
text = json.dumps(out, separators=(",", ":")).replace("],[\"", "],\n[\"")
(HERE / "data").mkdir(exist_ok=True)
(HERE / "data" / "gaps.json").write_text(text + "\n")
count = {k: sum(c[3] == k for c in cases) for k in ("apart", "deep", "crossing", "inside")}
print(count, "coal-fcl", worst_fcl, "coal-Minkowski", worst_coal, "coal-walk", worst_walk)
