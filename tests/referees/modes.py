"""Natural frequencies of a rigid body on springs: scipy's generalised symmetric eigenproblem.

    pip install scipy==1.17.1 numpy==2.4.6
    python modes.py           # writes data/modes.json

Springs: [at mm, along (not normalised), stiffness along N/mm, stiffness across N/mm]; mass kg; inertia
kg mm2 about the centre of gravity. K is built from each spring's compliance frame: rows
[unit directions] of motion at the spring by shift and turn of the body. Frequencies Hz, ascending.
"""

import json
import pathlib

import numpy as np
import scipy
from scipy.linalg import eigh

HERE = pathlib.Path(__file__).parent
rng = np.random.default_rng(20251125)


def unit(v):
    return np.array(v, float) / np.linalg.norm(v)


def motion(arm):
    """Velocity at `arm` from (shift, turn): columns shift x y z, turn x y z."""
    out = np.zeros((3, 6))
    out[:, :3] = np.eye(3)
    for k in range(3):
        out[:, 3 + k] = np.cross(np.eye(3)[k], arm)
    return out


cases = []
while len(cases) < 100:
    count = int(rng.integers(3, 9))
    springs = []
    for _ in range(count):
        at = [round(float(v), 1) for v in rng.uniform(-120, 120, 3)]
        along = [round(float(v), 2) for v in rng.uniform(-1, 1, 3)]
        if np.linalg.norm(along) < 0.3:
            continue
        stiff = round(float(10 ** rng.uniform(0.5, 3)), 2)
        springs.append([at, along, stiff, round(stiff * float(rng.choice([0.0, 0.3, 1.0])), 2)])
    centre = [round(float(v), 1) for v in rng.uniform(-20, 20, 3)]
    mass = round(float(rng.uniform(2, 6)), 2)
    a = rng.uniform(-1, 1, (3, 3))
    inertia = (a @ a.T + np.eye(3)) * mass * 2000
    inertia = np.round((inertia + inertia.T) / 2, 1)
    k = np.zeros((6, 6))
    for at, along, stiff, across in springs:
        j = motion(np.array(at) - centre)
        n = unit(along)
        # Energy: along 1/2 k (n·d)2, across 1/2 k' |d - n (n·d)|2.
        p = np.outer(n, n)
        k += j.T @ (stiff * p + across * (np.eye(3) - p)) @ j
    m = np.zeros((6, 6))
    m[:3, :3] = mass * np.eye(3)
    m[3:, 3:] = inertia
    w = eigh(k, m, eigvals_only=True)
    hz = np.sqrt(np.maximum(w, 0) * 1000) / (2 * np.pi)
    cases.append([springs, centre, mass, inertia.tolist(), hz.tolist()])
out = {"made_with": f"scipy {scipy.__version__}, numpy {np.__version__}; seed 20251125", "cases": cases}
(HERE / "data" / "modes.json").write_text(json.dumps(out, separators=(",", ":")).replace("],[[[", "],\n[[[") + "\n")
lowest = np.array([c[-1][0] for c in cases])
print("free", (lowest < 1e-3).sum(), "lowest held", lowest[lowest > 1e-3].min(), "highest", max(c[-1][-1] for c in cases))
