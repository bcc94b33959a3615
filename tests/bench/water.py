"""W3 filled by scikit-image and pyflwdir: median of 5 after one to warm up, ms. See water.rs."""

import pathlib
import statistics
import sys
import time

import numpy as np
import pyflwdir
from skimage.morphology import reconstruction

sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "referees"))
import w3

CROSS = np.array([[0, 1, 0], [1, 1, 1], [0, 1, 0]])
z = w3.heights()
open_cells = np.zeros(z.shape, bool)
open_cells[:, 0] = True
for row, column in w3.DRAINS:
    open_cells[row, column] = True


def skimage():
    seed = np.where(open_cells, z, z.max())
    return reconstruction(seed, z, method="erosion", footprint=CROSS)


def flwdir():
    # idxs_pit: water leaves at these cells only.
    return pyflwdir.dem.fill_depressions(z, idxs_pit=OPEN, connectivity=4)[0]


OPEN = np.flatnonzero(open_cells)
# pyflwdir rounds to the next 32-bit float now and then.
assert np.abs(skimage() - flwdir()).max() < 1e-5, "the two referees disagree"


def timed(name, work):
    work()
    times = []
    for _ in range(5):
        begin = time.perf_counter()
        work()
        times.append(1e3 * (time.perf_counter() - begin))
    print(f"{name}\t{statistics.median(times)}")


timed("scikit-image: reconstruction by erosion, 4 neighbours", skimage)
timed("pyflwdir: fill_depressions, 4 neighbours", flwdir)
