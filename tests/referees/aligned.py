"""Placing a scan by named points: scipy's Rotation.align_vectors (Kabsch: a turn, never a mirror).

    pip install scipy==1.17.1 numpy==2.4.6
    python aligned.py         # writes data/aligned.json

100 clouds of 3 to 12 points, moved, turned and disturbed by 0 to 20 mm; every tenth is mirrored, every
seventh lies in a plane. A row: the number of points, the points (x y z each, mm), their targets, then
the turn row by row, the shift and the root mean square for a scale of 1, and the best scale with its
root mean square. For a given turn R the best scale is sum(b . R a) / sum(a . a) about the middles, and
the best turn doesn't depend on the scale (Umeyama 1991).
"""

import json
import pathlib

import numpy as np
import scipy
from scipy.spatial.transform import Rotation

HERE = pathlib.Path(__file__).parent
rng = np.random.default_rng(20240617)
rows = []
for k in range(100):
    count = int(rng.integers(3, 13))
    a = rng.uniform(-800, 800, (count, 3))
    if k % 7 == 0:
        a[:, 2] = 0.0
    turn = Rotation.random(rng=rng).as_matrix()
    b = a @ turn.T * rng.uniform(0.8, 1.25) + rng.uniform(-900, 900, 3)
    if k % 10 == 0:
        b[:, 0] = -b[:, 0]
    b += rng.normal(0, rng.choice([0.0, 1.0, 20.0]), b.shape)
    a, b = a.round(4), b.round(4)
    am, bm = a.mean(0), b.mean(0)
    found, _ = Rotation.align_vectors(b - bm, a - am)
    r = found.as_matrix()
    turned = (a - am) @ r.T
    rms = float(np.sqrt(((turned - (b - bm)) ** 2).sum(1).mean()))
    scale = float(((b - bm) * turned).sum() / ((a - am) ** 2).sum())
    rms_free = float(np.sqrt(((turned * scale - (b - bm)) ** 2).sum(1).mean()))
    shift = bm - r @ am
    values = [*a.ravel(), *b.ravel(), *r.ravel(), *shift, rms, scale, rms_free]
    rows.append([count, *(round(float(v), 10) for v in values)])
out = {"made_with": f"scipy {scipy.__version__}, numpy {np.__version__}; seed 20240617", "clouds": rows}
(HERE / "data" / "aligned.json").write_text(json.dumps(out, separators=(",", ":")).replace("],[", "],\n[") + "\n")
