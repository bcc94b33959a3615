"""Water filled to the brim on a grid: scikit-image's reconstruction by erosion, 4 neighbours.

    pip install scikit-image==0.26.0 numpy==2.4.6
    python floods.py          # writes data/floods.json

Heights mm, row by row from the lowest y. The border and the drains are open. `up` is not
normalised; levels are measured along it, in the order of the heights, cells 5 mm wide whose middles
lie at (column + 0.5, row + 0.5) x 5 mm.
"""

import json
import pathlib

import numpy as np
import skimage
from skimage.morphology import reconstruction

HERE = pathlib.Path(__file__).parent
rng = np.random.default_rng(20240613)
CROSS = np.array([[0, 1, 0], [1, 1, 1], [0, 1, 0]])
STEP = 5.0

grids = []
for k in range(20):
    cols, rows = int(rng.integers(8, 22)), int(rng.integers(8, 18))
    h = rng.integers(0, 40, (rows, cols)).astype(float)
    if k % 2:  # a tray: a high rim, so that water collects to it
        h[0, :] = h[-1, :] = h[:, 0] = h[:, -1] = 45
        h[0, int(rng.integers(1, cols - 1))] = 33
    up = [0.0, 0.0, 1.0] if k % 4 < 2 else [round(float(a), 2) for a in (*rng.uniform(-0.2, 0.2, 2), 1.0)]
    unit = np.array(up) / np.linalg.norm(up)
    drains = sorted({int(rng.integers(rows * cols)) for _ in range(int(rng.integers(0, 4)))})
    y, x = np.mgrid[0:rows, 0:cols]
    floor = unit[0] * (x + 0.5) * STEP + unit[1] * (y + 0.5) * STEP + unit[2] * h
    seed = np.full_like(floor, floor.max())
    for edge in (np.s_[0, :], np.s_[-1, :], np.s_[:, 0], np.s_[:, -1]):
        seed[edge] = floor[edge]
    seed.ravel()[drains] = floor.ravel()[drains]
    level = reconstruction(seed, floor, method="erosion", footprint=CROSS)
    grids.append(dict(size=[cols, rows], up=up, drains=drains, height_mm=h.astype(int).ravel().tolist(), level_mm=[round(v, 11) for v in level.ravel().tolist()]))
out = {"made_with": f"scikit-image {skimage.__version__}, numpy {np.__version__}; seed 20240613", "step_mm": STEP, "grids": grids}
(HERE / "data" / "floods.json").write_text(json.dumps(out, separators=(",", ":")).replace("},{", "},\n{") + "\n")
print(len(grids), "grids", sum(g["size"][0] * g["size"][1] for g in grids), "cells")
