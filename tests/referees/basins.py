"""Levels and pools of W3, and of a patch of it level and tilted: scikit-image gives the answers.

    pip install scikit-image==0.26.0 numpy==2.4.6
    python basins.py          # writes data/basins.json

Heights by w3.py. Levels by reconstruction by erosion with 4 neighbours, pools as the 4-connected pieces
of what is under water. Open are column 0 and the drains. The million levels are compared by a checksum of
their bits, sum of bits x (2 x index + 1) modulo 2^64, and by their pools; the patch cell for cell. Units
mm, litres; cells of 2 mm.
"""

import json
import pathlib

import numpy as np
import skimage
from skimage.measure import label
from skimage.morphology import reconstruction

import w3

HERE = pathlib.Path(__file__).parent
CROSS = np.array([[0, 1, 0], [1, 1, 1], [0, 1, 0]])


def filled(floor, drains):
    seed = np.full_like(floor, floor.max())
    seed[:, 0] = floor[:, 0]
    for row, column in drains:
        seed[row, column] = floor[row, column]
    return reconstruction(seed, floor, method="erosion", footprint=CROSS)


def checksum(values):
    bits = np.ascontiguousarray(values, dtype=np.float64).ravel().view(np.uint64)
    with np.errstate(over="ignore"):
        return int((bits * (np.arange(bits.size, dtype=np.uint64) * np.uint64(2) + np.uint64(1))).sum(dtype=np.uint64))


def pools(floor, level, uz=1.0):
    depth = level - floor
    names, count = label(depth > 0, connectivity=1, return_num=True)
    cells = np.bincount(names.ravel(), minlength=count + 1)[1:]
    litres = np.bincount(names.ravel(), weights=depth.ravel(), minlength=count + 1)[1:] * w3.STEP_MM**2 / uz / 1e6
    top = np.full(count + 1, -np.inf)
    np.maximum.at(top, names.ravel(), level.ravel())
    return [[int(c), float(v), float(t)] for c, v, t in zip(cells, litres, top[1:])]


z = w3.heights().astype(np.float64)
level = filled(z, w3.DRAINS)
found = sorted(pools(z, level), key=lambda pool: -pool[1])
out = {
    "made_with": f"scikit-image {skimage.__version__}, numpy {np.__version__}",
    "heights_checksum": str(checksum(z)),
    "levels_checksum": str(checksum(level)),
    "wet": int((level > z).sum()),
    "litres": float((level - z).sum() * w3.STEP_MM**2 / 1e6),
    "pools": len(found),
    "largest": found[:200],
}
COLUMNS, ROWS, DRAINS = 90, 70, [(40, 50)]
patches = []
for up in ([0.0, 0.0, 1.0], [0.2, 0.1, 1.0], [-0.2, 0.1, 1.0]):
    u = np.array(up) / np.linalg.norm(up)
    h = w3.heights(COLUMNS, ROWS).astype(np.float64)
    # Our grid has a ring of walls round all but column 0: its squares begin one row up.
    y, x = np.mgrid[0:ROWS, 0:COLUMNS]
    floor = u[0] * (x + 0.5) * w3.STEP_MM + u[1] * (y + 1.5) * w3.STEP_MM + u[2] * h
    levels = filled(floor, DRAINS)
    patches.append(dict(up=up, levels=[round(v, 10) for v in levels.ravel().tolist()], pools=sorted(pools(floor, levels, u[2]), key=lambda pool: -pool[1])))
out["patch"] = dict(columns=COLUMNS, rows=ROWS, drains=DRAINS, cases=patches)
(HERE / "data" / "basins.json").write_text(json.dumps(out, separators=(",", ":")).replace('{"up"', '\n{"up"') + "\n")
print(out["wet"], "wet cells in", out["pools"], "pools,", round(out["litres"], 3), "l;", [len(p["pools"]) for p in patches])
