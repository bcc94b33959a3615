"""Every spot of the demo cars on every combination: the matrix against check runs of their own.

    python matrix.py DRYBERTH
"""
import json
import subprocess
import sys

program, cells, wrong = sys.argv[1], 0, 0


def ask(*arguments):
    done = subprocess.run([program, *arguments, "--json"], capture_output=True, text=True)
    assert done.returncode in (0, 1), done.stderr
    return json.loads(done.stdout)


for demo in ("wrenfield-drop-top", "sandlark-cabriolet"):
    matrix = ask("matrix", demo, "--no-unbolting")
    for index, car in enumerate(matrix["cars"]):
        options = [x for name in car["options"] or ["none"] for x in ("--option", name)]
        alone = {spot["name"]: spot for spot in ask("check", demo, *options)["spots"]}
        for row in matrix["spots"]:
            cell, spot = row["cells"][index], alone[row["spot"]]
            cells += 1
            wrong += (cell["verdict"], cell["score"]) != (spot["verdict"], spot["score"])
    print(demo, len(matrix["cars"]), "cars, serves most:", matrix["serves_most"])
print(f"{cells} cells, {wrong} differ")
sys.exit(wrong > 0)
