"""The largest factor on a load that fixings can balance: scipy's linprog (HiGHS).

    pip install scipy==1.17.1 numpy==2.4.6
    python mounts.py          # writes data/mounts.json

Forces N, lengths mm, loads in multiples of the weight (g = 9.80665 m/s2). Holdings:
["bolt", at, strength], ["pull", at, along, strength], ["push", at, along, friction]; `along` is not
normalised. The same inner approximations as the program states: a bolt's force is a sum of
forces along the 26 directions to the neighbours of a cube, together at most its strength; a push
is a sum of forces along 8 edges normal + friction * (u cos a + v sin a), a = 0, 45 ... 315 degrees,
u = the axis least along the normal x normal, v = normal x u. The factor is at most 50.
"""

import json
import pathlib

import numpy as np
import scipy
from scipy.optimize import linprog

HERE = pathlib.Path(__file__).parent
rng = np.random.default_rng(20240614)
G = 9.80665
CUBE = [np.array(d, float) / np.linalg.norm(d) for d in np.ndindex(3, 3, 3) for d in [tuple(np.array(d) - 1)] if any(d)]
assert len(CUBE) == 26


def unit(v):
    return np.array(v, float) / np.linalg.norm(v)


def edges(along, friction):
    n = unit(along)
    least = int(np.argmin(np.abs(n)))
    u = unit(np.cross(np.eye(3)[least], n))
    v = np.cross(n, u)
    if friction <= 0:
        return [n]
    return [n + friction * (u * np.cos(a) + v * np.sin(a)) for a in np.arange(8) * np.pi / 4]


def factor(holdings, centre, mass, load):
    cols, caps, groups = [], [], []
    for h in holdings:
        at = np.array(h[1]) - centre
        if h[0] == "bolt":
            ways, cap = CUBE, h[2]
        elif h[0] == "pull":
            ways, cap = [unit(h[2])], h[3]
        else:
            ways, cap = edges(h[2], h[3]), None
        start = len(cols)
        cols += [np.concatenate([w, np.cross(at, w) / 1000]) for w in ways]  # N and Nm
        caps += [cap] * len(ways)
        if cap is not None and len(ways) > 1:
            groups.append((range(start, len(cols)), cap))
    weight = mass * G
    a_eq = np.zeros((6, len(cols) + 1))
    if cols:
        a_eq[:, :-1] = np.array(cols).T
    a_eq[:3, -1] = weight * np.array(load)
    c = np.zeros(len(cols) + 1)
    c[-1] = -1
    a_ub = np.zeros((len(groups), len(cols) + 1))
    for row, (span, _) in enumerate(groups):
        a_ub[row, list(span)] = 1
    res = linprog(c, A_ub=a_ub if groups else None, b_ub=[g[1] for g in groups] if groups else None,
                  A_eq=a_eq, b_eq=np.zeros(6), bounds=[(0, cap) for cap in caps] + [(0, 50)], method="highs",
                  options=dict(primal_feasibility_tolerance=1e-10, dual_feasibility_tolerance=1e-10))
    assert res.status == 0, res.message
    return max(0.0, -res.fun)


def some(low, high, digits=2):
    return [round(float(v), digits) for v in rng.uniform(low, high, 3)]


def way():
    while True:
        d = some(-1, 1)
        n = np.sort(np.abs(unit(d)))
        if np.linalg.norm(d) > 0.3 and n[1] - n[0] > 0.02:  # no tie for the least axis
            return d


LOADS = [[0, 0, -1], [0.9, 0, -1], [-0.5, 0, -1], [0, -0.7, -1], [0, 0.7, -1], [0, 0, -2]]
cases, k = [], 0
while len(cases) < 200:
    k += 1
    bolts, pulls, pushes = (int(v) for v in rng.integers(0, [4, 5, 6]))
    if k % 10 == 0:
        bolts, pushes = 0, 0  # straps alone: often nothing balances
    holdings = [["bolt", some(-120, 120, 1), round(float(rng.uniform(20, 400)), 1)] for _ in range(bolts)]
    holdings += [["pull", some(-120, 120, 1), way(), round(float(rng.uniform(20, 400)), 1)] for _ in range(pulls)]
    if pushes and k % 3 == 0:  # on a floor, under it all, with straps up from the floor
        holdings += [["push", [x, y, -60.0], [0.03, 0.01, 1.0], 0.3] for x in (-100.0, 100.0) for y in (-50.0, 50.0)]
    else:
        holdings += [["push", some(-120, 120, 1), way(), float(rng.choice([0.0, 0.2, 0.3, 0.6]))] for _ in range(pushes)]
    if not holdings:
        continue
    centre, mass, load = some(-20, 20, 1), round(float(rng.uniform(2, 6)), 2), LOADS[int(rng.integers(6))]
    cases.append([holdings, centre, mass, load, factor(holdings, np.array(centre), mass, load)])
out = {"made_with": f"scipy {scipy.__version__} (HiGHS), numpy {np.__version__}; seed 20240614", "cases": cases}
(HERE / "data" / "mounts.json").write_text(json.dumps(out, separators=(",", ":")).replace("],[[[", "],\n[[[") + "\n")
f = np.array([c[-1] for c in cases])
print("zero", (f < 1e-9).sum(), "capped", (f > 49.999).sum(), "between", ((f > 1e-9) & (f < 49.999)).sum())
