"""W4 cut by manifold3d and trimesh: median time of a plane, ms. See fluid.rs."""

import pathlib
import statistics
import sys
import time

import numpy as np
import trimesh

sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "referees"))
import w4

planes = w4.planes()
units = planes[:, :3] / np.linalg.norm(planes[:, :3], axis=1, keepdims=True)
cuts = [(tuple(-u), float(-d)) for u, d in zip(units, planes[:, 3])]


def timed(name, work, rounds):
    times = []
    for _ in range(rounds):
        begin = time.perf_counter()
        work()
        times.append(1e3 * (time.perf_counter() - begin) / len(cuts))
    print(f"{name}\t{statistics.median(times)}")


for name, (v, f) in (("tank", w4.tank()), ("ball", w4.ball())):
    body, mesh = w4.solid(v, f), trimesh.Trimesh(v, f, process=False)
    body.volume()
    timed(f"{name}: manifold3d trim_by_plane and volume", lambda: [body.trim_by_plane(n, d).volume() for n, d in cuts], 3)
    some = cuts[:100]
    begin = time.perf_counter()
    for n, d in some:
        trimesh.intersections.slice_mesh_plane(mesh, np.array(n), -np.array(n) * -d, cap=True).volume
    print(f"{name}: trimesh slice_mesh_plane and volume, 100 planes\t{1e3 * (time.perf_counter() - begin) / len(some)}")
