"""A mesh that nobody here wrote, in every format, by the writers of other libraries.

    pip install scikit-image==0.26.0 trimesh==5.2.0 numpy==2.4.6
    python lump.py             # writes data/lump.{ply,stl,obj,glb} and data/lump.json

Marching cubes of scikit-image over a sum of three blobs in a grid of 14 mm; written in metres by trimesh. The
field is a formula of our own, so nobody else has rights in the result. data/lump.json holds trimesh's
own volume, area and box of the mesh, mm.
"""

import json
import pathlib

import numpy as np
import trimesh
from skimage.measure import marching_cubes

DATA = pathlib.Path(__file__).parent / "data"
STEP = 14.0


def main():
    x, y, z = np.mgrid[-140:141:STEP, -140:141:STEP, -112:113:STEP]
    blobs = [((-40, 10, 5), 60), ((45, -20, -10), 50), ((10, 55, 30), 38)]
    field = sum(np.exp(-((x - a) ** 2 + (y - b) ** 2 + (z - c) ** 2) / (2 * r**2)) for (a, b, c), r in blobs)
    corners, faces, _, _ = marching_cubes(field, 0.75, spacing=(STEP,) * 3)
    mesh = trimesh.Trimesh((corners - [140, 140, 112]) / 1000, faces)
    mesh.fix_normals()
    for ending in ("ply", "stl", "obj", "glb"):
        mesh.export(DATA / f"lump.{ending}")
    low, high = (mesh.bounds * 1000).tolist()
    facts = dict(
        triangles=len(mesh.faces), corners=len(mesh.vertices), closed=bool(mesh.is_watertight),
        litres=mesh.volume * 1000, area_mm2=mesh.area * 1e6, low=low, high=high)
    (DATA / "lump.json").write_text(json.dumps(facts) + "\n")


if __name__ == "__main__":
    main()
