"""Offsets of random outlines by shapely, for outlines.rs.

    python outlines.py > data/outlines.json

100 outlines with a fixed seed: stars with sharp and blunt corners, hollow sides, combs and slots; each
offset outward or inward by shapely 2's buffer with round joins. Only outer rings are kept: a panel has
none of the holes that an outward offset can close around. Units mm.
"""
import json, math, random

from shapely.geometry import Polygon
import shapely

rng = random.Random(20260)


def star():
    n = rng.randint(3, 18)
    angles = sorted(rng.uniform(0, 2 * math.pi) for _ in range(n))
    return [(rng.uniform(15, 160) * math.cos(a), rng.uniform(15, 160) * math.sin(a)) for a in angles]


def comb():
    teeth = rng.randint(2, 5)
    points, x = [(0, 0)], 0.0
    for _ in range(teeth):
        w, gap, h = rng.uniform(6, 40), rng.uniform(4, 30), rng.uniform(20, 120)
        points += [(x, h), (x + w, h + rng.uniform(-8, 8)), (x + w, 15)]
        x += w + gap
        points += [(x, 15)]
    points += [(x, 0)]
    return points


def good(points):
    shape = Polygon(points)
    if not (shape.is_valid and shape.area > 400):
        return False
    return min(math.dist(a, b) for a, b in zip(points, points[1:] + points[:1])) > 0.5


cases = []
while len(cases) < 100:
    points = [(round(x, 3), round(y, 3)) for x, y in (star() if rng.random() < 0.7 else comb())]
    if len(points) < 3 or not good(points):
        continue
    by = round(rng.choice([-1, 1]) * rng.choice([0.5, 1.5, 3, 5, 8, 12]) * rng.uniform(0.8, 1.2), 3)
    found = Polygon(points).buffer(by, quad_segs=32, join_style="round")
    pieces = [found] if found.geom_type == "Polygon" else list(found.geoms)
    pieces = [p for p in pieces if p.area > 1.0]
    if any(p.area < 4.0 for p in pieces) or not pieces and by > -8:
        continue  # a piece of about nothing is there or not by rounding
    if by > 0:
        pieces = sorted(pieces, key=lambda p: -p.area)[:1]
    rings = []
    for piece in sorted(pieces, key=lambda p: -p.area):
        ring = shapely.simplify(Polygon(piece.exterior), 0.001)
        rings.append([[round(x, 4), round(y, 4)] for x, y in ring.exterior.coords[:-1]])
    cases.append({"outline": points, "by_mm": by, "rings": rings})
print(json.dumps({"made_by": f"shapely {shapely.__version__}", "cases": cases}, separators=(",", ":")))
