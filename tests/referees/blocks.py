"""Upper bounds of how many 200 x 100 x 50 mm blocks go in, by CP-SAT (ortools 9).

    python blocks.py > data/blocks.json

Small boxes with a box in the way; every place of a block on a 25 mm grid along the axes, every way to
lie, no two sharing a cell. What is kept is the solver's proven bound after at most 20 s, and the best
packing it found. Sizes are multiples of 25 mm, so a packing on 50 mm cells that begin at either end or
half a cell off is one of these.
"""

import itertools
import json

from ortools.sat.python import cp_model

GRID = 25
WAYS = sorted(set(itertools.permutations((8, 4, 2))))
CASES = [
    ((400, 300, 250), None),
    ((250, 250, 250), None),
    ((350, 225, 150), None),
    ((300, 300, 125), ((0, 0, 0), (50, 100, 50))),
    ((400, 300, 150), ((150, 100, 0), (250, 200, 75))),
    ((325, 275, 200), ((0, 0, 0), (100, 100, 100))),
    ((400, 200, 200), ((300, 0, 100), (400, 200, 200))),
    ((275, 375, 175), ((100, 150, 50), (175, 225, 175))),
    ((200, 200, 250), ((75, 75, 0), (125, 125, 250))),
    ((425, 250, 150), ((0, 225, 0), (425, 250, 150))),
]


def bound(size, body):
    cells = [length // GRID for length in size]
    low, high = [[edge // GRID for edge in end] for end in body] if body else ([0] * 3, [0] * 3)
    model = cp_model.CpModel()
    users = {}
    places = []
    for way in WAYS:
        for at in itertools.product(*(range(c - w + 1) for c, w in zip(cells, way))):
            if body and all(a < h and a + w > l for a, w, l, h in zip(at, way, low, high)):
                continue
            place = model.new_bool_var("")
            places.append(place)
            for cell in itertools.product(*(range(a, a + w) for a, w in zip(at, way))):
                users.setdefault(cell, []).append(place)
    for sharing in users.values():
        model.add_at_most_one(sharing)
    free = size[0] * size[1] * size[2]
    if body:
        free -= (body[1][0] - body[0][0]) * (body[1][1] - body[0][1]) * (body[1][2] - body[0][2])
    model.add(sum(places) <= free // 1_000_000)
    model.maximize(sum(places))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = 20
    solver.parameters.num_workers = 2
    solver.parameters.random_seed = 1
    solver.solve(model)
    return int(solver.best_objective_bound + 1e-6), int(solver.objective_value)


rows = []
for size, body in CASES:
    most, found = bound(size, body)
    rows.append({"size": size, "body": body, "bound": most, "found": found})
print(json.dumps(rows))
