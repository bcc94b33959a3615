"""How much of a load fixings can balance: scipy's linprog (HiGHS).

    pip install scipy==1.17.1 numpy==2.4.6
    python mounts.py          # writes data/mounts.json
    python mounts.py time     # times the six load cases of 50 mounts and the rock of 5, for the bench

Forces N, lengths mm, loads in multiples of the weight (g = 9.80665 m/s2), moments N mm. Holdings:
["bolt", at, strength], ["pull", at, along, strength], ["push", at, along, friction],
["wedge", at, along, friction, strength]; `along` is not normalised. The same inner approximations as
the program states: a bolt's force is a sum of forces along the 26 directions to the neighbours of a
cube, together at most its strength; a push is a sum of forces along 64 edges
normal + friction * (u cos a + v sin a), a = 0, 1/64 ... 63/64 of a turn, u = the axis least along the
normal x normal, v = normal x u; a wedge the same with the edges' amounts together at most its strength.
A case: holdings, centre, mass, what is always there (in g), what grows (in g), moment that grows, and
the answer: the largest factor, "unbounded" or "infeasible".
"""

import json
import pathlib
import sys
import time

import numpy as np
import scipy
from scipy.optimize import linprog

HERE = pathlib.Path(__file__).parent
rng = np.random.default_rng(20240614)
G = 9.80665
SIDES = 64
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
    return [n + friction * (u * np.cos(a) + v * np.sin(a)) for a in np.arange(SIDES) * 2 * np.pi / SIDES]


def matrix(holdings, centre):
    cols, caps, groups = [], [], []
    for h in holdings:
        at = np.array(h[1]) - centre
        if h[0] == "bolt":
            ways, cap = CUBE, h[2]
        elif h[0] == "pull":
            ways, cap = [unit(h[2])], h[3]
        else:
            ways, cap = edges(h[2], h[3]), h[4] if h[0] == "wedge" else None
        start = len(cols)
        cols += [np.concatenate([w, np.cross(at, w) / 100]) for w in ways]
        caps += [cap] * len(ways)
        if cap is not None and len(ways) > 1:
            groups.append((range(start, len(cols)), cap))
    return np.array(cols).reshape(-1, 6), caps, groups


def factor(ready, mass, always, load, moment):
    cols, caps, groups = ready
    weight = mass * G
    a_eq = np.zeros((6, len(cols) + 1))
    if len(cols):
        a_eq[:, :-1] = cols.T
    a_eq[:3, -1] = weight * np.array(load)
    a_eq[3:, -1] = np.array(moment) / 100
    b_eq = np.zeros(6)
    b_eq[:3] = -weight * np.array(always)
    c = np.zeros(len(cols) + 1)
    c[-1] = -1
    a_ub = np.zeros((len(groups), len(cols) + 1))
    for row, (span, _) in enumerate(groups):
        a_ub[row, list(span)] = 1
    res = linprog(c, A_ub=a_ub if groups else None, b_ub=[g[1] for g in groups] if groups else None,
                  A_eq=a_eq / weight, b_eq=b_eq / weight, bounds=[(0, cap) for cap in caps] + [(0, None)],
                  method="highs",
                  options=dict(primal_feasibility_tolerance=1e-10, dual_feasibility_tolerance=1e-10))
    if res.status == 2:
        return "infeasible"
    if res.status == 3:
        return "unbounded"
    if res.status != 0:
        assert sys.argv[1:] == ["time"], res.message
        return 0.0
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


def mount(k):
    bolts, pulls, pushes, wedges = (int(v) for v in rng.integers(0, [4, 5, 6, 2]))
    if k % 10 == 0:
        bolts, pushes, wedges = 0, 0, 0  # straps alone: often nothing balances
    holdings = [["bolt", some(-120, 120, 1), round(float(rng.uniform(20, 400)), 1)] for _ in range(bolts)]
    holdings += [["pull", some(-120, 120, 1), way(), round(float(rng.uniform(20, 400)), 1)] for _ in range(pulls)]
    if pushes and k % 3 == 0:  # on a floor, under it all, with straps up from the floor
        holdings += [["push", [x, y, -60.0], [0.03, 0.01, 1.0], 0.3] for x in (-100.0, 100.0) for y in (-50.0, 50.0)]
    else:
        holdings += [["push", some(-120, 120, 1), way(), float(rng.choice([0.0, 0.2, 0.3, 0.6]))] for _ in range(pushes)]
    holdings += [["wedge", some(-120, 120, 1), way(), 0.4, round(float(rng.uniform(20, 200)), 1)] for _ in range(wedges)]
    return holdings, some(-20, 20, 1), round(float(rng.uniform(2, 6)), 2)


if sys.argv[1:] == ["time"]:
    mounts = [mount(k) for k in range(1, 56)]
    mounts = [m for m in mounts if m[0]][:50]
    began = time.perf_counter()
    for holdings, centre, mass in mounts:
        ready = matrix(holdings, np.array(centre))
        for load in LOADS:
            factor(ready, mass, [0, 0, 0], load, [0, 0, 0])
    print(json.dumps({"cases_ms": 1e3 * (time.perf_counter() - began) / len(mounts)}))
    # Only what hangs can be rocked: 1 g at least.
    def hangs(m):
        found = factor(matrix(m[0], np.array(m[1])), m[2], [0, 0, 0], [0, 0, -1], [0, 0, 0])
        return not isinstance(found, str) and found >= 1

    mounts = [m for m in mounts if hangs(m)][:5]
    began = time.perf_counter()
    for holdings, centre, mass in mounts:
        ready = matrix(holdings, np.array(centre))
        for k in range(266):
            lift = 1 - 2 * (k + 0.5) / 266
            turn = k * 2.399963
            flat = np.sqrt(1 - lift * lift)
            factor(ready, mass, [0, 0, -1], [flat * np.cos(turn), flat * np.sin(turn), lift], [0, 0, 0])
    print(json.dumps({"rock_ms": 1e3 * (time.perf_counter() - began) / 5}))
    sys.exit()

cases, k = [], 0
while len(cases) < 1000:
    k += 1
    holdings, centre, mass = mount(k)
    if not holdings:
        continue
    load = LOADS[int(rng.integers(6))]
    always, moment = [0, 0, 0], [0, 0, 0]
    if k % 2:  # hanging already, and something comes on top
        always, load = [0, 0, -1], [round(v, 2) for v in unit(way())]
    if k % 7 == 0:
        moment = some(-3000, 3000, 0)
    answer = factor(matrix(holdings, np.array(centre)), mass, always, load, moment)
    cases.append([holdings, centre, mass, always, load, moment, answer])
out = {"made_with": f"scipy {scipy.__version__} (HiGHS), numpy {np.__version__}; seed 20240614", "cases": cases}
(HERE / "data" / "mounts.json").write_text(json.dumps(out, separators=(",", ":")).replace("],[[[", "],\n[[[") + "\n")
f = np.array([c[-1] for c in cases if not isinstance(c[-1], str)])
words = [c[-1] for c in cases if isinstance(c[-1], str)]
print("zero", (f < 1e-9).sum(), "between", (f >= 1e-9).sum(), "largest", f.max(), {w: words.count(w) for w in set(words)})
