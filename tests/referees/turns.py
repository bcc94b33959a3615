"""ISO 8855 attitudes as rotation matrices: scipy's Rotation, intrinsic z-y'-x''.

    pip install scipy==1.17.1 numpy==2.4.6
    python turns.py           # writes data/turns.json

A row: roll, pitch, yaw in degrees, then the matrix row by row.
"""

import json
import pathlib

import numpy as np
import scipy
from scipy.spatial.transform import Rotation

HERE = pathlib.Path(__file__).parent
rng = np.random.default_rng(20240616)
rows = []
for k in range(100):
    roll, pitch, yaw = (round(float(v), 3) for v in rng.uniform(-180, 180, 3))
    if k < 6:  # one axis at a time, both ways
        roll, pitch, yaw = (30.0 * (1 if k % 2 else -1) if k // 2 == axis else 0.0 for axis in range(3))
    matrix = Rotation.from_euler("ZYX", [yaw, pitch, roll], degrees=True).as_matrix()
    rows.append([roll, pitch, yaw, *(round(float(v), 12) for v in matrix.ravel())])
out = {"made_with": f"scipy {scipy.__version__}, numpy {np.__version__}; seed 20240616", "turns": rows}
(HERE / "data" / "turns.json").write_text(json.dumps(out, separators=(",", ":")).replace("],[", "],\n[") + "\n")
