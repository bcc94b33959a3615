"""A way through a demo boot by ompl: how long until it is within 3 % of ours. See routes.rs.

    pip install ompl==2.0.1 numpy==2.4.6
    python routes.py CASE      # CASE as routes.rs writes it: one line of JSON, then distances (float32)

- BIT* in space, keeping what the line needs from everything: a string without a bend radius. It has an
  easier question than ours, and its answer still has to be rounded.
- RRT* on Vana curves: the same question as ours.
Both ask a grid of distances of 5 mm, made by the program, so that no time is spent on geometry here.
"""

import json
import math
import sys
import time

import numpy as np
from ompl import base, geometric, util

BUDGET_S = 20.0
WITHIN = 1.03

util.setLogLevel(util.LogLevel.LOG_ERROR)
util.RNG.setSeed(1) if hasattr(util, "RNG") else None

with open(sys.argv[1], "rb") as file:
    case = json.loads(file.readline())
    grid = np.frombuffer(file.read(), "<f4").tolist()
low, step, size = case["low"], case["step"], case["size"]
high = [l + step * (n - 1) for l, n in zip(low, size)]


def clear(x, y, z):
    at = [int((v - l) / step + 0.5) for v, l in zip((x, y, z), low)]
    if not all(0 <= i < n for i, n in zip(at, size)):
        return False
    # Within a cell the distance is at most this much less: a place counts as clear if its cell does.
    return grid[(at[2] * size[1] + at[1]) * size[0] + at[0]] >= case["need"]


def bounds():
    made = base.RealVectorBounds(3)
    for axis in range(3):
        made.setLow(axis, low[axis])
        made.setHigh(axis, high[axis])
    return made


def timed(name, space, planner, valid, put, target_mm):
    si = base.SpaceInformation(space)
    si.setStateValidityChecker(valid)
    si.setStateValidityCheckingResolution(2.0 / space.getMaximumExtent())
    si.setup()
    problem = base.ProblemDefinition(si)
    ends = []
    for end in ("from", "to"):
        state = space.allocState()
        put(state, case[end])
        ends.append(state)
    problem.setStartAndGoalStates(*ends, 1e-3)
    objective = base.PathLengthOptimizationObjective(si)
    objective.setCostThreshold(base.Cost(target_mm))
    problem.setOptimizationObjective(objective)
    made = planner(si)
    made.setProblemDefinition(problem)
    made.setup()
    started = time.perf_counter()
    made.solve(BUDGET_S)
    took_ms = (time.perf_counter() - started) * 1e3
    best = problem.getSolutionPath().length() if problem.hasExactSolution() else math.inf
    reached = f"within 3 %, {best:.0f} mm" if best <= target_mm else f"gave up at {best:.0f} mm"
    print(f"ompl {name}: {reached}\t{took_ms}")


def put_point(state, end):
    for axis in range(3):
        state[axis] = end["at"][axis]


def put_heading(state, end):
    put_point(state, end)
    x, y, z = end["towards"]
    state.setPitch(math.asin(max(-1.0, min(1.0, z))))
    state.setYaw(math.atan2(y, x))


straight = base.RealVectorStateSpace(3)
straight.setBounds(bounds())
timed("BIT*, no bend radius", straight, geometric.BITstar, lambda s: clear(s[0], s[1], s[2]), put_point,
      case["length"] * WITHIN)
curved = base.VanaStateSpace(case["bend"], 1.55)
curved.setBounds(bounds())
curved.setup()
timed("RRT* on Vana curves", curved, geometric.RRTstar, lambda s: clear(s[0], s[1], s[2]), put_heading,
      case["length"] * WITHIN)
