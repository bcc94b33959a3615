"""The best ways that optimising planners find through the fields of ways_cases.py in 60 s each.

    python ways_planner.py cases.json answers.json FIRST LAST WORKERS SECONDS

Method. For each case, one process for SECONDS of wall time:
  * ompl BIT* (half the time, two seeds) and Informed RRT* (a fifth) in space, keeping `need` from every
    obstacle, path length as the objective: strings without a bend radius.
  * ompl RRT* on VanaStateSpace (the rest): curves of bounded curvature in space, steep as they like.
Then every string found is made a curve: corners rounded at the bend radius and pulled tight by a batched
descent of 2,048 perturbed copies (jax, on a GPU if there is one), lengths of arcs and straights exact.
What comes out is sampled every millimetre against the exact distance to the obstacles and dropped if it
comes too near anywhere. The shortest that is left, from either method, counts.

Beside it the length of the shortest string that keeps `need`, without a bend radius: the eikonal equation
on a 5 mm grid (first-order upwind, started from exact distances), in the set of cells whose middle keeps
`need` less half a cell's diagonal. `eikonal_free` is the same for an empty field, where the chord is exact.

Needs numpy, scipy, jax, ompl.
"""

import json
import multiprocessing
import os
import sys
import time

import numpy as np

from ways_cases import SIZE, Field, unit

GRID = 5.0
LOW, HIGH = -80.0 * np.ones(3), SIZE + 80.0


def grid_of(field):
    """Distances on the grid: exact up to 22 mm, farther away a lower bound."""
    axes = [np.arange(low, high + GRID, GRID) for low, high in zip(LOW, HIGH)]
    mesh = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)
    every = 4
    coarse = mesh[::every, ::every, ::every]
    far = field(coarse.reshape(-1, 3)).reshape(coarse.shape[:3])
    blocks = [np.minimum(np.arange(n) // every, c - 1) for n, c in zip(mesh.shape, far.shape)]
    which = np.ix_(*blocks)
    values = far[which] - np.linalg.norm(mesh - coarse[which], axis=-1)
    near = values < 22.0
    values[near] = field(mesh[near])
    return values.astype(np.float32)


# ---------------------------------------------------------------- ompl

class Clear:
    """Whether a point keeps `need`: from the grid where that settles it, else exactly."""

    def __init__(self, field, grid, need):
        self.field, self.need, self.shape = field, need, grid.shape
        self.rows = grid.ravel().tolist()

    def __call__(self, x, y, z):
        i, j, k = int((x + 80.0) / GRID + 0.5), int((y + 80.0) / GRID + 0.5), int((z + 80.0) / GRID + 0.5)
        ni, nj, nk = self.shape
        if not (0 <= i < ni and 0 <= j < nj and 0 <= k < nk):
            return False
        d = self.rows[(i * nj + j) * nk + k]
        if d - 4.34 >= self.need:
            return True
        if d + 4.34 < self.need:
            return False
        return bool(self.field([[x, y, z]])[0] >= self.need)


def strings(case, field, grid, seconds, seed):
    from ompl import base as ob, geometric as og, util as ou
    try:
        ou.setLogLevel(ou.LogLevel.LOG_ERROR)
    except Exception:
        pass
    clear = Clear(field, grid, case["need"])
    a, b = (np.array(case[e]["at"]) for e in ("from", "to"))
    ta, tb = (unit(np.array(case[e]["towards"])) for e in ("from", "to"))
    found = []

    def plan(space, planner, valid, set_start, set_goal, budget, read, step):
        si = ob.SpaceInformation(space)
        si.setStateValidityChecker(valid)
        si.setStateValidityCheckingResolution(step / space.getMaximumExtent())
        si.setup()
        problem = ob.ProblemDefinition(si)
        start, goal = space.allocState(), space.allocState()
        set_start(start), set_goal(goal)
        problem.setStartAndGoalStates(start, goal, 1e-3)
        problem.setOptimizationObjective(ob.PathLengthOptimizationObjective(si))
        planner = planner(si)
        planner.setProblemDefinition(problem)
        planner.setup()
        planner.solve(float(budget))
        if problem.hasExactSolution():
            read(problem.getSolutionPath())

    def in_space(planner, budget):
        space = ob.RealVectorStateSpace(3)
        bounds = ob.RealVectorBounds(3)
        for i in range(3):
            bounds.setLow(i, float(LOW[i])), bounds.setHigh(i, float(HIGH[i]))
        space.setBounds(bounds)

        def put(p):
            def set_it(s):
                for i in range(3):
                    s[i] = float(p[i])
            return set_it

        # The string begins and ends where a bend may: a little ahead of the ends.
        def read(path):
            found.append([[s[0], s[1], s[2]] for s in path.getStates()])

        plan(space, planner, lambda s: clear(s[0], s[1], s[2]), put(a), put(b), budget, read, 2.0)

    curved = []

    def bounded(budget):
        space = ob.VanaStateSpace(case["radius"], 1.55)
        bounds = ob.RealVectorBounds(3)
        for i in range(3):
            bounds.setLow(i, float(LOW[i])), bounds.setHigh(i, float(HIGH[i]))
        space.setBounds(bounds)
        space.setup()

        def put(p, t):
            pitch, yaw = float(np.arcsin(np.clip(t[2], -1, 1))), float(np.arctan2(t[1], t[0]))

            def set_it(s):
                for i in range(3):
                    s[i] = float(p[i])
                s.setPitch(pitch)
                s.setYaw(yaw)
            return set_it

        def xyz(s):
            return s[0], s[1], s[2]

        def read(path):
            length = path.length()
            path.interpolate(400)
            points = np.array([xyz(s) for s in path.getStates()])
            if field(points).min() >= case["need"] - 0.05 and np.isfinite(length):
                curved.append(float(length))
                found.append(points[::40].tolist() + [points[-1].tolist()])

        plan(space, og.RRTstar, lambda s: clear(*xyz(s)), put(a, ta), put(b, tb), budget, read, 4.0)

    ou_seed = getattr(ou, "RNG", None)
    if ou_seed is not None:
        try:
            ou_seed.setSeed(seed + 1)
        except Exception:
            pass
    errors = []
    for work in (
        lambda: in_space(og.BITstar, seconds * 0.25), lambda: in_space(og.BITstar, seconds * 0.25),
        lambda: in_space(og.InformedRRTstar, seconds * 0.2), lambda: bounded(seconds * 0.3),
    ):
        try:
            work()
        except Exception as error:
            errors.append(repr(error)[:200])
    return found, curved, errors


def one(job):
    index, case, seconds = job
    started = time.time()
    field = Field(case["obstacles"])
    grid = grid_of(field)
    made = time.time() - started
    found, curved, errors = strings(case, field, grid, seconds, index)
    return index, grid, [taut(string, field, case["need"]) for string in found], curved, errors, made


def taut(string, field, need):
    points = [np.array(p) for p in string]
    out, at = [points[0]], 0
    while at + 1 < len(points):
        reach = len(points) - 1
        while reach > at + 1:
            n = int(np.linalg.norm(points[reach] - points[at]) / 2) + 2
            between = points[at] + np.outer(np.linspace(0, 1, n), points[reach] - points[at])
            if field(between).min() >= need - 0.5:
                break
            reach -= 1
        at = reach
        out.append(points[at])
    return [p.tolist() for p in out]


# ---------------------------------------------------------------- curves

CORNERS = 7


def starts(case, given, batch, rng):
    """Corner sets (batch, CORNERS, 3) to begin from: strings with corners added, and perturbed."""
    a, b = (np.array(case[e]["at"]) for e in ("from", "to"))
    ta, tb = (unit(np.array(case[e]["towards"])) for e in ("from", "to"))
    r = case["radius"]
    bases = []
    for string in given + [[a.tolist(), b.tolist()]]:
        inner = [np.array(p) for p in string[1:-1]][:CORNERS - 2]
        line = [a, a + ta * r * 0.7] + inner + [b - tb * r * 0.7, b]
        while len(line) < CORNERS + 2:
            gaps = [np.linalg.norm(line[i + 1] - line[i]) for i in range(1, len(line) - 2)] or [0]
            i = int(np.argmax(gaps)) + 1
            line.insert(i + 1, (line[i] + line[i + 1]) / 2)
        bases.append(np.array(line[1:-1]))
    out = np.stack([bases[i % len(bases)] for i in range(batch)])
    spread = np.array([0.0, 4.0, 12.0, 30.0, 70.0])[(np.arange(batch) // len(bases)) % 5]
    out[len(bases):] += rng.normal(size=out[len(bases):].shape) * spread[len(bases):, None, None]
    ahead = np.stack([(out[:, 0] - a) @ ta, -(out[:, -1] - b) @ tb], axis=1).clip(1.0)
    return ahead, out[:, 1:-1]


def curve(ahead, inner, a, b, ta, tb, r):
    """Lengths, misfits and points of a batch of rounded lines."""
    import jax.numpy as jnp
    n = inner.shape[0]
    first = a + ta * jnp.abs(ahead[:, :1])
    last = b - tb * jnp.abs(ahead[:, 1:])
    ends = [jnp.broadcast_to(p, (n, 1, 3)) for p in (a, b)]
    line = jnp.concatenate([ends[0], first[:, None], inner, last[:, None], ends[1]], 1)
    seg = line[:, 1:] - line[:, :-1]
    length = jnp.sqrt((seg ** 2).sum(-1) + 1e-8)
    way = seg / length[..., None]
    cosine = jnp.clip((way[:, 1:] * way[:, :-1]).sum(-1), -0.985, 0.9999995)
    angle = jnp.arccos(cosine)
    tangent = r * jnp.tan(angle / 2)
    total = length.sum(1) - (2 * tangent - r * angle).sum(1)
    zero = jnp.zeros((n, 1))
    before, after = jnp.concatenate([zero, tangent], 1), jnp.concatenate([tangent, zero], 1)
    fit = jnp.concatenate([jnp.maximum(before + after - length + 0.02, 0),
                           jnp.maximum(angle - 2.7, 0) * r], 1)
    begin = line[:, 1:-1] - way[:, :-1] * tangent[..., None]
    inward = way[:, 1:] - way[:, :-1] * cosine[..., None]
    inward = inward / jnp.sqrt((inward ** 2).sum(-1, keepdims=True) + 1e-9)
    phi = angle[..., None] * jnp.linspace(0, 1, 9)
    arc = begin[:, :, None] + r * (way[:, :-1, None] * jnp.sin(phi)[..., None]
                                   + inward[:, :, None] * (1 - jnp.cos(phi))[..., None])
    s0, s1 = line[:, :-1] + way * before[..., None], line[:, 1:] - way * after[..., None]
    straight = s0[:, :, None] + (s1 - s0)[:, :, None] * jnp.linspace(0, 1, 16)[:, None]
    points = jnp.concatenate([arc.reshape(n, -1, 3), straight.reshape(n, -1, 3)], 1)
    return total, fit, points, line


def distances(volume, points):
    import jax
    where = (points - LOW) / GRID
    return jax.scipy.ndimage.map_coordinates(volume, [where[..., i] for i in range(3)], 1, mode="nearest")


def descend(ahead, inner, volume, a, b, ta, tb, r, need, rounds):
    """Adam on length with rising penalties for misfits and nearness."""
    import jax
    import jax.numpy as jnp

    def loss(x, weight, margin):
        total, fit, points, _ = curve(*x, a, b, ta, tb, r)
        short = jnp.maximum(need + margin - distances(volume, points), 0)
        return (total + weight * (fit.sum(1) + short.sum(1))).sum()

    def step(i, state):
        x, m, v = state
        share = i / rounds
        rate = 4.0 * (1 - share) ** 1.5 + 0.03
        g = jax.grad(loss)(x, 3.0 + 60.0 * share, jnp.where(share < 0.85, 0.25, 0.6))
        g = jax.tree.map(lambda g: jnp.nan_to_num(g), g)
        m = jax.tree.map(lambda m, g: 0.9 * m + 0.1 * g, m, g)
        v = jax.tree.map(lambda v, g: 0.999 * v + 0.001 * g * g, v, g)
        c1, c2 = 1 - 0.9 ** (i + 1), 1 - 0.999 ** (i + 1)
        x = jax.tree.map(lambda x, m, v: x - rate * (m / c1) / (jnp.sqrt(v / c2) + 1e-8), x, m, v)
        return x, m, v

    x = (ahead, inner)
    zeros = jax.tree.map(jnp.zeros_like, x)
    x, _, _ = jax.lax.fori_loop(0, rounds, step, (x, zeros, zeros))
    total, fit, points, line = curve(*x, a, b, ta, tb, r)
    short = (need + 0.05 - distances(volume, points)).max(1)
    bad = (fit.max(1) > 0.5) | (short > 1.0) | ~jnp.isfinite(total)
    return jnp.where(bad, 1e6, total), line


COMPILED = {}


def optimise(case, given, grid, rng, batch, rounds):
    import jax
    ahead, inner = starts(case, given, batch, rng)
    ends = [np.array(case[e]["at"], np.float32) for e in ("from", "to")]
    ways = [unit(np.array(case[e]["towards"])).astype(np.float32) for e in ("from", "to")]
    key = (batch, rounds)
    if key not in COMPILED:
        COMPILED[key] = jax.jit(descend, static_argnums=9)
    totals, lines = COMPILED[key](ahead.astype(np.float32), inner.astype(np.float32), grid, *ends, *ways,
                                  np.float32(case["radius"]), np.float32(case["need"]), rounds)
    totals, lines = np.array(totals), np.array(lines, dtype=float)
    order = np.argsort(totals)[:150]
    # In single precision the ends and their directions have moved a hair: put back.
    a, b = (np.array(case[e]["at"]) for e in ("from", "to"))
    ta, tb = (unit(np.array(case[e]["towards"])) for e in ("from", "to"))
    out = []
    for i in order[totals[order] < 1e5]:
        line = lines[i]
        line[0], line[-1] = a, b
        line[1], line[-2] = a + ta * abs((line[1] - a) @ ta), b - tb * abs((line[-2] - b) @ tb)
        out.append((float(totals[i]), line))
    return out


def sampled(line, r):
    """Points every millimetre and the exact length of a rounded line; none where a corner doesn't fit."""
    seg = np.diff(line, axis=0)
    length = np.linalg.norm(seg, axis=1)
    way = seg / np.maximum(length, 1e-12)[:, None]
    angle = np.array([np.arctan2(np.linalg.norm(np.cross(u, v)), u @ v) for u, v in zip(way, way[1:])])
    if angle.max() > 3.0:
        return None
    tangent = r * np.tan(angle / 2)
    used = np.r_[0, tangent] + np.r_[tangent, 0]
    if (used > length + 1e-9).any():
        return None
    points = []
    for i, (u, n) in enumerate(zip(way, length)):
        s = line[i] + u * (0 if i == 0 else tangent[i - 1])
        e = line[i + 1] - u * (0 if i == len(way) - 1 else tangent[i])
        points.append(s + np.outer(np.linspace(0, 1, int(np.linalg.norm(e - s)) + 2), e - s))
        if i < len(tangent) and angle[i] > 1e-9:
            inward = unit(way[i + 1] - u * (u @ way[i + 1]))
            phi = np.linspace(0, angle[i], int(r * angle[i]) + 2)[:, None]
            points.append(e + r * (np.sin(phi) * u + (1 - np.cos(phi)) * inward))
    return np.concatenate(points), float(length.sum() - (2 * tangent - r * angle).sum())


def shortest(case, field, tried):
    best = None
    for total, line in tried:
        if best and total > best[0] + 1:
            continue
        made = sampled(line, case["radius"])
        if made is None:
            continue
        points, length = made
        inside = (points > LOW - 60).all() and (points < HIGH + 60).all()
        if (best is None or length < best[0]) and inside and field(points).min() >= case["need"] - 1e-3:
            best = (length, line)
    return best


# ---------------------------------------------------------------- strings without a bend radius

def upwind(t, away, known, open_):
    import jax
    import jax.numpy as jnp
    h, big = GRID, 1e6

    def step(state):
        t, _, i = state
        p = jnp.pad(t, 1, constant_values=big)
        m = jnp.sort(jnp.stack([jnp.minimum(p[2:, 1:-1, 1:-1], p[:-2, 1:-1, 1:-1]),
                                jnp.minimum(p[1:-1, 2:, 1:-1], p[1:-1, :-2, 1:-1]),
                                jnp.minimum(p[1:-1, 1:-1, 2:], p[1:-1, 1:-1, :-2])]), axis=0)
        u = m[0] + h
        disc = 2 * h * h - (m[0] - m[1]) ** 2
        u = jnp.where((u > m[1]) & (disc >= 0), (m[0] + m[1] + jnp.sqrt(jnp.maximum(disc, 0))) / 2, u)
        s = m.sum(0)
        disc = s * s - 3 * ((m * m).sum(0) - h * h)
        u = jnp.where((u > m[2]) & (disc >= 0), (s + jnp.sqrt(jnp.maximum(disc, 0))) / 3, u)
        new = jnp.where(known, away, jnp.where(open_, jnp.minimum(t, u), big))
        return new, (jnp.abs(new - t) > 1e-4).any(), i + 1

    return jax.lax.while_loop(lambda s: s[1] & (s[2] < 1500), step, (t, True, 0))[0]


def eikonal(grid, source, target, need):
    import jax
    half = GRID * 0.75 ** 0.5
    axes = [np.arange(n, dtype=np.float32) * GRID + low for n, low in zip(grid.shape, LOW)]
    x, y, z = np.meshgrid(*axes, indexing="ij")
    away = np.sqrt((x - source[0]) ** 2 + (y - source[1]) ** 2 + (z - source[2]) ** 2).astype(np.float32)
    index = tuple(int(round((s - low) / GRID)) for s, low in zip(source, LOW))
    known = away <= max(float(grid[index]) - half - need, 0.0) + 2 * half
    if "upwind" not in COMPILED:
        COMPILED["upwind"] = jax.jit(upwind)
    t = np.array(COMPILED["upwind"](np.where(known, away, np.float32(1e6)), away, known, grid >= need - half))
    near = (abs(x - target[0]) <= GRID) & (abs(y - target[1]) <= GRID) & (abs(z - target[2]) <= GRID)
    rest = np.sqrt((x - target[0]) ** 2 + (y - target[1]) ** 2 + (z - target[2]) ** 2)
    value = float((t + rest)[near].min())
    return value if value < 5e5 else None


def main():
    cases = json.load(open(sys.argv[1]))
    first, last, workers, seconds = int(sys.argv[3]), int(sys.argv[4]), int(sys.argv[5]), float(sys.argv[6])
    jobs = [(i, cases[i], seconds) for i in range(first, min(last, len(cases)))]
    started = time.time()
    pool = multiprocessing.get_context("spawn").Pool(workers, maxtasksperchild=1)
    results = pool.imap_unordered(one, jobs)
    import jax
    batch, rounds = (2048, 300) if jax.default_backend() == "gpu" else (160, 160)
    before = time.time()
    optimise(cases[first], [], np.full([int(np.ceil((h - l + 2 * GRID) / GRID - 1e-9)) for l, h in zip(LOW, HIGH)],
                                       50.0, np.float32), np.random.default_rng(0), batch, rounds)
    print(jax.default_backend(), f"{time.time() - before:.1f} s to compile", flush=True)
    answers = []
    for index, grid, given, curved, errors, made in results:
        case, before = cases[index], time.time()
        field = Field(case["obstacles"])
        best = shortest(case, field, optimise(case, given, grid, np.random.default_rng(index), batch, rounds))
        a, b, need = case["from"]["at"], case["to"]["at"], case["need"]
        string, free = eikonal(grid, a, b, need), eikonal(np.full_like(grid, 10.0 + need), a, b, need)
        answers.append({
            "case": index, "best": best and round(best[0], 2),
            "curved": round(min(curved), 2) if curved else None, "strings": len(given),
            "eikonal": string and round(string, 2), "eikonal_free": round(free, 2),
            "given": [[[round(v, 1) for v in p] for p in string] for string in given],
            "line": best and [[round(float(v), 3) for v in p] for p in best[1]], "errors": errors,
        })
        json.dump(sorted(answers, key=lambda a: a["case"]), open(sys.argv[2], "w"), separators=(",", ":"))
        print(f"{time.time() - started:6.1f} s case {index} best {answers[-1]['best']} curved "
              f"{answers[-1]['curved']} string {string} free {free:.1f} grid {made:.1f} s smoothing "
              f"{time.time() - before:.1f} s {errors}", flush=True)
    os._exit(0)


if __name__ == "__main__":
    main()
