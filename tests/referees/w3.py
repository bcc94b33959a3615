"""Workload W3 by the formula of w3.rs, bit for bit: heights, seed, drains. numpy only."""

import numpy as np

SIDE = 1000
DRAINS = [(250, 700), (600, 450), (820, 880)]
STEP_MM = 2.0


def _lattice(x, y, seed):
    with np.errstate(over="ignore"):
        z = (np.uint64(seed) << np.uint64(40)) + (y << np.uint64(20)) + x
        z = z * np.uint64(0x9E3779B97F4A7C15) + np.uint64(0x9E3779B97F4A7C15)
        z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
        z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
        z = z ^ (z >> np.uint64(31))
    return (z >> np.uint64(11)).astype(np.float64) / 9007199254740992.0


def _noise(x, y, wide, seed):
    c, r = x // np.uint64(wide), y // np.uint64(wide)
    share = lambda at: (lambda t: t * t * (3.0 - 2.0 * t))((at % np.uint64(wide)).astype(np.float64) / wide)
    u, v = share(x), share(y)
    one = np.uint64(1)
    low = _lattice(c, r, seed) * (1.0 - u) + _lattice(c + one, r, seed) * u
    high = _lattice(c, r + one, seed) * (1.0 - u) + _lattice(c + one, r + one, seed) * u
    return low * (1.0 - v) + high * v


def heights(columns=SIDE, rows=SIDE):
    """Heights as float32, [row, column]."""
    y, x = np.mgrid[0:rows, 0:columns].astype(np.uint64)
    waves = 60.0 * _noise(x, y, 50, 1) + 24.0 * _noise(x, y, 12, 2) + 10.0 * _noise(x, y, 5, 3)
    return (waves + 0.004 * x.astype(np.float64)).astype(np.float32)
