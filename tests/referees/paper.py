"""Templates read back by libraries that had no part in making them.

    python paper.py DRYBERTH

DRYBERTH is the program. For each demo's openings, with no line and with the lines of every spot, for every spot's
adapter plate and for a plate of its own, on A4, A3 and Letter:
PDF by pdfplumber: page sizes, the check square 100.0 +- 0.1 mm, joining marks and cut lines of
neighbouring sheets meet within 0.2 mm. DXF by ezdxf: audit without errors or fixes, lengths. SVG by
svgpathtools: lengths. The three agree with one another within 0.02 mm. Prints the worst figures; ends with
1 when one is out.
"""
import itertools
import json
import math
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ET
from pathlib import Path

import ezdxf
import ezdxf.path
import pdfplumber
import svgpathtools

MM = 25.4 / 72
SIZES = {"a4": (210, 297), "a3": (297, 420), "letter": (215.9, 279.4)}
worst = {"page": 0, "square": 0, "joint": 0, "dxf - svg": 0, "bbox pdf - dxf": 0}


def note(what, value, limit):
    worst[what] = max(worst[what], value)
    if not value <= limit:
        print(f"{what}: {value} is over {limit}")
        sys.exit(1)


def run(program, *arguments):
    done = subprocess.run([program, *arguments], capture_output=True, text=True)
    if done.returncode:
        print(done.stderr)
        sys.exit(1)


def bezier_box(points):
    return min(p[0] for p in points), min(p[1] for p in points), max(p[0] for p in points), max(p[1] for p in points)


def shapes(page):
    """Closed stroked shapes as (width mm, points mm from the upper left corner)."""
    for curve in itertools.chain(page.curves, page.rects, page.lines):
        if not curve.get("stroke"):
            continue
        yield curve["linewidth"] * MM, [(x * MM, y * MM) for x, y in curve["pts"]]


def cut(page):
    wide = [p for w, p in shapes(page) if abs(w - 0.3) < 1e-3]
    return max(wide, key=lambda p: (bezier_box(p)[2] - bezier_box(p)[0]) * (bezier_box(p)[3] - bezier_box(p)[1]))


def marks(page):
    found = []
    for w, p in shapes(page):
        l, t, r, b = bezier_box(p)
        if len(p) > 8 and abs(r - l - 4.4) < 0.02 and abs(b - t - 4.4) < 0.02:
            found.append(((l + r) / 2, (t + b) / 2))
    return found


def arc(a, b):
    """Length of a side with a bulge: the tangent of a quarter of its angle."""
    chord, angle = math.dist(a[:2], b[:2]), 4 * math.atan(abs(a[2]))
    return chord if angle < 1e-9 else chord * angle / 2 / math.sin(angle / 2)


def look(program, folder, name, arguments):
    dxf, svg = folder / f"{name}.dxf", folder / f"{name}.svg"
    run(program, "template", *arguments, "-o", str(dxf))
    run(program, "template", *arguments, "-o", str(svg))
    drawing = ezdxf.readfile(dxf)
    audit = drawing.audit()
    if audit.errors or audit.fixes:
        print([e.message for e in audit.errors + audit.fixes])
        sys.exit(1)
    lengths, box = {}, None
    for entity in drawing.modelspace():
        if entity.dxftype() == "LWPOLYLINE":
            points = list(ezdxf.path.make_path(entity).flattening(0.0005))
            # By the bulges as read: ezdxf's own paths draw an arc as a cubic, longer by up to 0.03 mm here.
            corners = list(entity.get_points("xyb"))
            lengths[entity.dxf.layer] = sum(
                arc(a, b) for a, b in zip(corners, corners[1:] + corners[:1])) if entity.closed else 0
            if entity.dxf.layer == "CUT":
                xs, ys = [p.x for p in points], [p.y for p in points]
                box = (max(xs) - min(xs), max(ys) - min(ys))
    root = ET.parse(svg).getroot()
    space = {"s": "http://www.w3.org/2000/svg"}
    view = [float(v) for v in root.get("viewBox").replace(",", " ").split()]
    assert abs(float(root.get("width")[:-2]) - view[2]) < 1e-3, "1 unit is 1 mm"
    for group, layer in (("cut", "CUT"), ("opening", "OPENING")):
        path = root.find(f".//s:g[@id='{group}']/s:path", space)
        if path is not None:
            length = svgpathtools.parse_path(path.get("d")).length(error=1e-6)
            note("dxf - svg", abs(length - lengths[layer]), 0.02)
    square = root.find(".//s:g[@id='check']/s:rect", space)
    assert float(square.get("width")) == float(square.get("height")) == 100
    assert abs(lengths["CHECK"] - 400) < 1e-6
    for paper, (short, long) in SIZES.items():
        pdf = folder / f"{name}-{paper}.pdf"
        run(program, "template", *arguments, "--paper", paper, "-o", str(pdf))
        with pdfplumber.open(pdf) as document:
            for page in document.pages:
                w, h = sorted((float(page.width) * MM, float(page.height) * MM))
                note("page", max(abs(w - short), abs(h - long)), 0.05)
            squares = []
            for _, p in shapes(document.pages[0]):
                l, t, r, b = bezier_box(p)
                if abs(r - l - 100) < 2 and abs(b - t - 100) < 2:
                    squares.append((r - l, b - t))
            note("square", max(abs(squares[0][0] - 100), abs(squares[0][1] - 100)), 0.1)
            sheets = document.pages[1:]
            cuts = [cut(page) for page in sheets]
            for p in cuts:
                l, t, r, b = bezier_box(p)
                # Handles of a curve may stand outside it; a box of corners is no smaller.
                note("bbox pdf - dxf", max(0, box[0] - (r - l), box[1] - (b - t)), 0.02)
            for (a, ca), (b, cb) in itertools.combinations(zip(sheets, cuts), 2):
                shift = (ca[0][0] - cb[0][0], ca[0][1] - cb[0][1])
                met = [min((math.hypot(m[0] - shift[0] - n[0], m[1] - shift[1] - n[1]) for n in marks(b)), default=9)
                       for m in marks(a)]
                for distance in (d for d in met if d < 2):
                    note("joint", distance, 0.2)
                for p, q in zip(ca, cb):
                    note("joint", math.hypot(p[0] - q[0] - shift[0], p[1] - q[1] - shift[1]), 0.2)


OPENINGS = {
    "wrenfield-drop-top": ["old pump well's lid"],
    "sandlark-cabriolet": ["old pump well's lid", "right pocket's front panel"],
}
program = sys.argv[1]
panels = 0
with tempfile.TemporaryDirectory() as folder:
    folder = Path(folder)
    for demo, openings in OPENINGS.items():
        asked = subprocess.run([program, "check", demo, "--json"], capture_output=True, text=True)
        spots = [spot["name"] for spot in json.loads(asked.stdout)["spots"]]
        for opening, spot in itertools.product(openings, [None, *spots]):
            look(program, folder, "panel", [demo, "--opening", opening, *(["--spot", spot] if spot else [])])
            panels += 1
        for spot in spots:
            arguments = [demo, "--spot", spot, "--adapter"]
            made = subprocess.run([program, "template", *arguments, "-o", str(folder / "try.svg")], capture_output=True)
            if made.returncode == 0:
                look(program, folder, "adapter", arguments)
                panels += 1
            else:
                assert made.returncode == 2 and b"no adapter plate" in made.stderr, made.stderr
    look(program, folder, "plate", ["--plate", "0,0 610,-20 655,210 420,470 380,300 30,455", "--hole", "100,100,8", "--hole", "500,120,30"])
print(f"{panels + 1} panels and plates", worst)
