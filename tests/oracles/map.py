"""The region map read back by an independent program.

    map.py PLY GLB JSON LINES LAMP...

The first three files come from one run of `grisaille map` with the named lamps, the
fourth from `grisaille lines --json` of the same.
The layout is that of docs/map.md.
"""

import json
import struct
import sys

import meshio
import numpy as np
import trimesh
from scipy.spatial import cKDTree


def close(what, a, b, tolerance):
    a, b = np.asarray(a, dtype=np.float64), np.asarray(b, dtype=np.float64)
    assert a.shape == b.shape, f"{what}: shapes {a.shape} and {b.shape}"
    far = np.abs(a - b).max(initial=0.0)
    assert far <= tolerance, f"{what}: differ by {far}, allowed {tolerance}"


def luminance(lightness):
    """CIE 15:2018, equation 8.12 turned round: L* to Y, white 1."""
    t = (np.asarray(lightness, dtype=np.float64) + 16.0) / 116.0
    return np.where(t > 6.0 / 29.0, t**3, 3.0 * (6.0 / 29.0) ** 2 * (t - 4.0 / 29.0))


def srgb8(linear):
    """IEC 61966-2-1: linear light to a byte."""
    curve = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-9) ** (1 / 2.4) - 0.055)
    return curve * 255.0


def glb_chunks(path):
    data = open(path, "rb").read()
    magic, version, length = struct.unpack_from("<4sII", data)
    assert (magic, version, length) == (b"glTF", 2, len(data))
    size, kind = struct.unpack_from("<I4s", data, 12)
    assert kind == b"JSON" and size % 4 == 0
    start = 20 + size
    body, kind = struct.unpack_from("<I4s", data, start)
    assert kind == b"BIN\0" and body % 4 == 0
    return json.loads(data[20:start]), data[start + 8 : start + 8 + body]


def accessor(gltf, body, index):
    a = gltf["accessors"][index]
    view = gltf["bufferViews"][a["bufferView"]]
    kind = {5123: "<u2", 5125: "<u4", 5126: "<f4"}[a["componentType"]]
    width = {"SCALAR": 1, "VEC3": 3, "VEC4": 4}[a["type"]]
    # The standard wants vertex data to step by multiples of four bytes.
    assert (np.dtype(kind).itemsize * width) % 4 == 0, a
    start = view.get("byteOffset", 0) + a.get("byteOffset", 0)
    assert start % 4 == 0, a
    values = np.frombuffer(body, kind, a["count"] * width, start)
    return values.reshape(-1, width)


def scene_from_gltf(p):
    return np.stack([p[:, 0], -p[:, 2], p[:, 1]], axis=1).astype(np.float64)


def main(ply, glb, summary, lines, *lamps):
    facts = json.load(open(summary))

    # PLY: the properties of docs/map.md in their order, then faces.
    raw = trimesh.load(ply, process=False)
    elements = raw.metadata["_ply_raw"]
    assert list(elements) == ["vertex", "face"], list(elements)
    floats = ["x", "y", "z", "nx", "ny", "nz", "zenithal", "ring", "ambient", "openness"]
    floats += [f"light_{name}" for name in lamps] + ["value"]
    bytes_ = ["band", "zone", "buried"]
    want = [(n, "<f4") for n in floats] + [(n, "<u1") for n in bytes_]
    want += [("region", "<u2")] + [(n, "<u1") for n in ["red", "green", "blue"]]
    assert list(elements["vertex"]["properties"].items()) == want, elements["vertex"]["properties"]
    assert len(elements["face"]["properties"]) == 1
    v = elements["vertex"]["data"]
    assert len(v) == facts["samples"] and len(raw.faces) == facts["faces"]
    assert int(raw.faces.max()) < len(v)

    # Another reader finds the same, column by column.
    other = meshio.read(ply)
    (cells,) = other.cells
    assert cells.type == "triangle" and (cells.data == raw.faces).all()
    assert (other.points == np.stack([v["x"], v["y"], v["z"]], axis=1)).all()
    assert sorted(other.point_data) == sorted(name for name, _ in want[3:]), list(other.point_data)
    for name, kind in want[3:]:
        assert other.point_data[name].dtype == np.dtype(kind), (name, other.point_data[name].dtype)
        assert (other.point_data[name] == v[name]).all(), name

    place = np.stack([v["x"], v["y"], v["z"]], axis=1).astype(np.float64)
    normal = np.stack([v["nx"], v["ny"], v["nz"]], axis=1).astype(np.float64)
    close("extents in mm", np.ptp(place, axis=0), facts["extents_mm"], 1e-4)
    close("length of normals", np.linalg.norm(normal, axis=1), np.ones(len(v)), 1e-5)
    open_ = v["buried"] == 0
    assert set(np.unique(v["buried"])) <= {0, 1}
    assert int((~open_).sum()) == facts["buried_samples"]
    # Faces are wound outward: their own normals agree with those of their corners.
    corners = normal[raw.faces].sum(axis=1)
    agree = (np.einsum("ij,ij->i", raw.face_normals, corners) > 0)[raw.area_faces > 1e-9].mean()
    assert agree > 0.999 and raw.volume > 0, (agree, raw.volume)

    for i, light in enumerate(facts["lights"]):
        name = light["name"] if i < 3 else f"light_{light['name']}"
        e = v[name]
        assert np.isfinite(e).all() and e.min() >= 0 and e[~open_].max(initial=0) == 0, name
        assert e.max() >= light["greatest"] - 1e-6 > 0, name
        if i < 3:
            assert e.max() <= 1 + 1e-5, (name, e.max())
    # How much of its own hemisphere a spot sees: all of it on what stands out, little in folds.
    openness = v["openness"][open_]
    assert openness.min() >= 0 and 0.99 < openness.max() <= 1 + 1e-5, (openness.min(), openness.max())
    assert openness.min() < 0.3, openness.min()
    value = v["value"]
    assert value.min() >= facts["settings"]["darkest"] - 1e-3
    assert abs(value.max() - facts["settings"]["lightest"]) < 1e-3
    assert v["band"].max() == len(facts["bands"]) - 1 and v["zone"].max() <= len(facts["lights"])
    # (The map was made with --brush 0: bands are not evened out.)
    # A brighter band has brighter values; a border is the same for all of it,
    # except that a base's brightest counts to the band below the top.
    top = len(facts["bands"]) - 1
    for band in facts["bands"][:top]:
        mine = value[open_ & (v["band"] == band["band"])]
        assert mine.min() >= band["low"] - 1e-4, band
        if band["band"] < top - 1:
            assert mine.max() <= band["high"] + 1e-4, band
    # Zone: the light that adds the most, lamps rolled off; where only the
    # weights decide, that is checked here anew.
    weight = np.array([light["weight"] for light in facts["lights"]])
    lit = [n for n in floats[6:-1] if n != "openness"]
    exposure = np.stack([v[n].astype(np.float64) for n in lit], axis=1)
    exposure[:, 3:] /= np.sqrt(1 + exposure[:, 3:] ** 2)
    added = exposure * weight
    strongest = np.where(added.max(axis=1) > 0, added.argmax(axis=1) + 1, 0)
    two = np.sort(added, axis=1)
    clear = two[:, -1] - two[:, -2] > 1e-6
    assert (strongest == v["zone"])[clear].all()

    grey = np.stack([v["red"], v["green"], v["blue"]], axis=1).astype(np.float64)
    assert (grey == grey[:, :1]).all()
    light = luminance(value)
    # A table-driven encoder of sRGB may be off by a little more than its last rounding.
    close("PLY colours", grey[open_, 0], srgb8(light)[open_], 0.6)

    # GLB: metres, +Y up, the same corners of the same faces, region by region.
    gltf, body = glb_chunks(glb)
    primitives = gltf["meshes"][0]["primitives"]
    assert len(primitives) == len(facts["regions"]) > 1
    extras = [f"_{n}" for n in floats[6:] + bytes_ + ["region"]]
    # Who a face is, is told by where its corners are and how they face.
    tree = cKDTree(np.hstack([place, normal])[raw.faces].reshape(-1, 18))
    found = []
    for region, primitive in zip(facts["regions"], primitives):
        material = gltf["materials"][primitive["material"]]
        assert material["name"] == region["name"], (material, region)
        for told in [primitive["extras"], material["extras"]]:
            assert (told["region"], told["name"]) == (region["id"], region["name"]), told
            close("region area", told["area_mm2"], region["area_mm2"], 1e-9)
        columns = {k: accessor(gltf, body, i) for k, i in primitive["attributes"].items()}
        assert sorted(columns) == sorted(["POSITION", "NORMAL", "COLOR_0", *extras]), sorted(columns)
        assert (columns["_region"] == region["id"]).all()
        rows = accessor(gltf, body, primitive["indices"]).reshape(-1, 3)
        there = np.hstack([1000 * scene_from_gltf(columns["POSITION"]), scene_from_gltf(columns["NORMAL"])])
        far, face = tree.query(there[rows].reshape(-1, 18))
        close("GLB corners", far, np.zeros(len(far)), 1e-4)
        found.append(face)
        corner, row = raw.faces[face].ravel(), rows.ravel()
        for name in extras[:-1]:
            close(f"GLB {name}", columns[name][row, 0], v[name[1:]][corner], 0.0)
        # The PLY has the lower region where two meet.
        assert (v["region"][corner] <= region["id"]).all() and (v["region"][corner] == region["id"]).any()
        colour = columns["COLOR_0"].astype(np.float64)[row] / 65535.0
        seen = open_[corner]
        close("GLB colours are linear", colour[seen, :3], np.repeat(light[corner][seen, None], 3, axis=1), 1e-5)
        assert (colour[:, 3] == 1).all()
        area = (raw.area_faces[face] * open_[raw.faces[face]].mean(axis=1)).sum()
        assert region["area_mm2"] <= 1.02 * area, (region, area)
    found = np.concatenate(found)
    assert len(found) == len(raw.faces) and len(np.unique(found)) == len(found), "each face once"

    # Lines: as `lines --json` tells them, in their order.
    told = json.load(open(lines))
    for node, kind in zip(gltf["nodes"][1:], ["recesses", "edges"], strict=True):
        mesh = gltf["meshes"][node["mesh"]]
        assert node["name"] == mesh["name"] == f"lines: {kind}", node
        (primitive,) = mesh["primitives"]
        assert primitive["mode"] == 1
        columns = {k: accessor(gltf, body, i) for k, i in primitive["attributes"].items()}
        want = told[kind]
        assert len(want) > 5
        points = np.concatenate([line["points_mm"] for line in want])
        close(f"{kind} in mm", 1000 * scene_from_gltf(columns["POSITION"]), points, 1e-4)
        count = [len(line["points_mm"]) for line in want]
        for name in ["rank", "width_mm", "depth_mm"]:
            got = columns["_" + name.removesuffix("_mm")][:, 0]
            close(f"{kind} {name}", got, np.repeat([line[name] for line in want], count), 1e-5)
        first = np.cumsum([0, *count])
        pairs = []
        for line, a, b in zip(want, first, first[1:]):
            pairs += [(i, i + 1) for i in range(a, b - 1)]
            pairs += [(b - 1, a)] if line["closed"] else []
        assert (accessor(gltf, body, primitive["indices"]).reshape(-1, 2) == pairs).all()

    # As a viewer sees it: names, and 54 mm tall along Y, in metres.
    scene = trimesh.load(glb, process=False)
    solids = [g for g in scene.geometry.values() if isinstance(g, trimesh.Trimesh)]
    assert [g.visual.material.name for g in solids] == [r["name"] for r in facts["regions"]]
    paths = [name for name, g in scene.geometry.items() if isinstance(g, trimesh.path.Path3D)]
    assert paths == ["lines: recesses", "lines: edges"], paths
    span = np.stack([g.bounds for g in solids])
    close("GLB height in m", span[:, 1, 1].max() - span[:, 0, 1].min(), facts["height_mm"] / 1000, 1e-7)

    # JSON: areas and shares.
    painted = facts["painted_area_mm2"]
    close("band areas", sum(b["area_mm2"] for b in facts["bands"]), painted, 1e-6 * painted)
    close("band shares", sum(b["share"] for b in facts["bands"]), 1.0, 1e-9)
    close("zone shares", sum(z["share"] for z in facts["zones"]) + facts["unlit_share"], 1.0, 1e-9)
    # What is painted is at most the open surface, and lacks only the underside.
    area = (raw.area_faces * open_[raw.faces].mean(axis=1)).sum()
    assert 0.7 * area < painted <= area * (1 + 1e-6), (painted, area)
    print(f"map: {len(v)} samples and {len(raw.faces)} faces agree in PLY, GLB and JSON")


if __name__ == "__main__":
    main(*sys.argv[1:])
