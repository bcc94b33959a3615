"""Writes assets/meshes/wheel-arch.glb: the invented Sandlark's right wheel arch.

A closed solid: a quarter drum about the wheel's axis with a rounded inner edge, a swelling over the
spring seat and a shallow dent above the boot floor, as a scan with the holes filled would give it.
Run from the repository root: python3 tests/make_demo_mesh.py
"""

import json
import math
import struct
import sys

# Vehicle frame, mm: x forward, y left, z up.
AXIS_X, AXIS_Z = 800.0, -12.0
OUTER_Y, INNER_Y = -600.0, -440.0
RADIUS, FILLET = 300.0, 45.0
RINGS, FILLET_STEPS, TOP_STEPS, FACE_STEPS = 36, 6, 5, 6


def bell(value, middle, width):
    return math.exp(-(((value - middle) / width) ** 2))


def section(angle):
    """(radius, y) from the axis at the outer side, over the top, to the axis at the inner side."""
    degrees = math.degrees(angle)
    top = RADIUS + 16.0 * bell(degrees, 122.0, 13.0)
    points = []
    for step in range(TOP_STEPS):
        y = OUTER_Y + (INNER_Y - FILLET - OUTER_Y) * step / TOP_STEPS
        # The spring seat swells towards the inner side only.
        swell = (top - RADIUS) * (0.35 + 0.65 * step / TOP_STEPS)
        points.append((RADIUS + swell, y))
    for step in range(FILLET_STEPS + 1):
        turn = math.pi / 2 * step / FILLET_STEPS
        points.append((top - FILLET + FILLET * math.cos(turn), INNER_Y - FILLET + FILLET * math.sin(turn)))
    for step in range(1, FACE_STEPS):
        radius = (top - FILLET) * (1 - step / FACE_STEPS)
        dent = 9.0 * bell(radius, 150.0, 60.0) * bell(degrees, 140.0, 18.0)
        points.append((radius, INNER_Y - dent))
    return points


def build():
    vertices = [(AXIS_X, OUTER_Y, AXIS_Z), (AXIS_X, INNER_Y, AXIS_Z)]
    outer, inner = 0, 1
    rings = []
    for ring in range(RINGS + 1):
        angle = math.pi - math.pi / 2 * ring / RINGS
        row = []
        for radius, y in section(angle):
            row.append(len(vertices))
            vertices.append((AXIS_X + radius * math.cos(angle), y, AXIS_Z + radius * math.sin(angle)))
        rings.append(row)
    triangles = []
    for near, far in zip(rings, rings[1:]):
        triangles.append((outer, near[0], far[0]))
        triangles.append((inner, far[-1], near[-1]))
        for a, b, c, d in zip(near, near[1:], far[1:], far):
            triangles += [(a, b, c), (a, c, d)]
    # Foot and front face: one fan each, from the axis at the inner side.
    for row, turned in ((rings[0], False), (rings[-1], True)):
        edge = [outer, *row, inner]
        for a, b in zip(edge[:-1], edge[1:-1]):
            triangles.append((inner, a, b) if turned else (inner, b, a))
    if volume(vertices, triangles) < 0:
        triangles = [(a, c, b) for a, b, c in triangles]
    return vertices, triangles


def volume(vertices, triangles):
    total = 0.0
    for triangle in triangles:
        (ax, ay, az), (bx, by, bz), (cx, cy, cz) = (vertices[i] for i in triangle)
        total += ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx)
    return total / 6.0


def glb(vertices, triangles):
    # glTF: metres, +Y up, +Z forward: (X, Y, Z) = (y, z, x) / 1000.
    points = [struct.unpack("<3f", struct.pack("<3f", y / 1000, z / 1000, x / 1000)) for x, y, z in vertices]
    indices = struct.pack(f"<{3 * len(triangles)}H", *(i for triangle in triangles for i in triangle))
    indices_length = len(indices)
    indices += b"\0" * (-len(indices) % 4)
    positions = b"".join(struct.pack("<3f", *point) for point in points)
    document = {
        "asset": {"version": "2.0", "generator": "tests/make_demo_mesh.py"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": [{"name": "right wheel arch", "mesh": 0}],
        "meshes": [{"name": "right wheel arch", "primitives": [{"attributes": {"POSITION": 1}, "indices": 0}]}],
        "accessors": [
            {"bufferView": 0, "componentType": 5123, "count": 3 * len(triangles), "type": "SCALAR"},
            {
                "bufferView": 1,
                "componentType": 5126,
                "count": len(points),
                "type": "VEC3",
                "min": [min(point[axis] for point in points) for axis in range(3)],
                "max": [max(point[axis] for point in points) for axis in range(3)],
            },
        ],
        "bufferViews": [
            {"buffer": 0, "byteOffset": 0, "byteLength": indices_length, "target": 34963},
            {"buffer": 0, "byteOffset": len(indices), "byteLength": len(positions), "target": 34962},
        ],
        "buffers": [{"byteLength": len(indices) + len(positions)}],
    }
    text = json.dumps(document, separators=(",", ":")).encode()
    text += b" " * (-len(text) % 4)
    body = indices + positions
    chunks = struct.pack("<II", len(text), 0x4E4F534A) + text + struct.pack("<II", len(body), 0x004E4942) + body
    return struct.pack("<III", 0x46546C67, 2, 12 + len(chunks)) + chunks


def main():
    path = sys.argv[1] if len(sys.argv) > 1 else "assets/meshes/wheel-arch.glb"
    vertices, triangles = build()
    with open(path, "wb") as file:
        file.write(glb(vertices, triangles))
    litres = volume(vertices, triangles) / 1e6
    print(f"{path}: {len(vertices)} points, {len(triangles)} triangles, {litres:.2f} litres")


if __name__ == "__main__":
    main()
