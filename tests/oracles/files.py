"""Every STL file of a folder, inspected: read, or refused in one clear line;
and one model in every kind of file, as other programs write it.

    files.py GRISAILLE FOLDER MODEL WORK

FOLDER is the npm package stl-models. Triangles, size and area of its sound
files are checked against trimesh; of the broken ones it is written here what
must come out. MODEL is an STL file that trimesh and meshio write to WORK as
OBJ, PLY and 3MF.
"""

import json
import subprocess
import sys
from pathlib import Path

import meshio
import numpy as np
import trimesh

# Triangles and what must be noticed. Normals, names and keywords that are
# missing or wrong harm nothing: the corners say all.
BROKEN = {
    # Four corners in a loop are two triangles.
    "fourVertices.ascii.stl": (5, {"malformed-facets"}),
    "quad.ascii.stl": (5, {"malformed-facets"}),
    # Two corners in a loop are none.
    "twoVertices.ascii.stl": (3, {"malformed-facets", "open-edges"}),
    "incorrectFaceCounter.bin.stl": (4, {"wrong-count"}),
    "missingFace.ascii.stl": (3, {"open-edges"}),
    "singleFace.ascii.stl": (1, {"open-edges"}),
    "missingEndsolid.ascii.stl": (4, set()),
    "missingNormal.ascii.stl": (4, set()),
    "notANumberNormal.ascii.stl": (4, set()),
    "solidNameMismatch.ascii.stl": (4, set()),
    "wrongHeader.bin.stl": (12, set()),
    "wrongNormal.ascii.stl": (4, set()),
    "wrongNormals.ascii.stl": (4, set()),
}
REFUSED = {"empty.stl", "faceless.ascii.stl", "multiWordName.bin.stl"}


def as_others_write(grisaille, model, work):
    mesh = trimesh.load(model, process=True)
    table = meshio.Mesh(mesh.vertices, [("triangle", mesh.faces)])
    written = []
    for name, write in {
        "trimesh.obj": lambda path: mesh.export(path),
        "trimesh.ply": lambda path: mesh.export(path),
        "trimesh-text.ply": lambda path: mesh.export(path, encoding="ascii"),
        "trimesh.3mf": lambda path: mesh.export(path),
        "meshio.obj": lambda path: table.write(path),
        "meshio.ply": lambda path: meshio.ply.write(path, table, binary=True),
        "meshio-text.ply": lambda path: meshio.ply.write(path, table, binary=False),
        "meshio.stl": lambda path: meshio.stl.write(path, table, binary=False),
    }.items():
        path = Path(work) / name
        write(path)
        run = subprocess.run([grisaille, "inspect", path, "--json"], capture_output=True, text=True)
        assert run.returncode == 0 and run.stderr == "", (name, run.stderr)
        facts = json.loads(run.stdout)
        assert facts["triangles"] == len(mesh.faces), (name, facts["triangles"])
        assert np.allclose(facts["extents_mm"], mesh.extents, rtol=1e-5), (name, facts["extents_mm"])
        assert np.isclose(facts["area_mm2"], mesh.area, rtol=1e-5), (name, facts["area_mm2"], mesh.area)
        assert np.isclose(facts["volume_mm3"], mesh.volume, rtol=1e-5), (name, facts["volume_mm3"], mesh.volume)
        written.append(name)
    print(f"files: triangles, size, area and volume of {', '.join(written)} are those of the model")


def materials(grisaille, work):
    """Colours of an OBJ's materials, as trimesh writes them, and as it reads them again."""
    colours = {"brass": (176, 128, 48, 255), "old_rope": (153, 127, 102, 255), "lamp": (255, 0, 1, 255)}
    parts = {}
    for at, (name, colour) in enumerate(colours.items()):
        box = trimesh.creation.box((9, 9, 9))
        box.apply_translation((20 * at, 0, 5))
        material = trimesh.visual.material.SimpleMaterial(diffuse=colour, name=name)
        box.visual = trimesh.visual.TextureVisuals(uv=np.zeros((len(box.vertices), 2)), material=material)
        parts[name] = box
    path = Path(work) / "materials" / "parts.obj"
    path.parent.mkdir(exist_ok=True)
    trimesh.Scene(parts).export(path)
    theirs = {g.visual.material.name: list(g.visual.material.diffuse[:3]) for g in trimesh.load(path).geometry.values()}
    facts = json.loads(subprocess.run([grisaille, "inspect", path, "--json"], capture_output=True, text=True).stdout)
    ours = {m["name"]: [int(m["colour"][k : k + 2], 16) for k in (1, 3, 5)] for m in facts["marks"]}
    assert ours == theirs and ours == {k: list(c[:3]) for k, c in colours.items()}, (ours, theirs)
    print(f"files: the colours of {len(ours)} materials are those that trimesh wrote and reads")


def main(grisaille, folder, model, work):
    as_others_write(grisaille, model, work)
    materials(grisaille, work)
    files = sorted(p for p in Path(folder).rglob("*") if p.suffix.lower() == ".stl")
    assert len(files) >= 30, f"only {len(files)} files in {folder}"
    read = refused = mended = counted = 0
    for file in files:
        name = file.relative_to(folder)
        run = subprocess.run([grisaille, "inspect", file, "--json"], capture_output=True, text=True)
        if run.returncode == 3:
            lines = run.stderr.splitlines()
            assert len(lines) == 1 and lines[0].startswith("grisaille: cannot read"), (name, run.stderr)
            assert run.stdout == "" and file.name in REFUSED, (name, run.stderr)
            print(f"  refused {name}: {lines[0].split(': ', 2)[-1]}")
            refused += 1
            continue
        assert run.returncode == 0 and run.stderr == "", (name, run.returncode, run.stderr)
        facts = json.loads(run.stdout)
        read += 1
        codes = {finding["code"] for finding in facts["findings"]}
        if "broken" in name.parts:
            triangles, must_notice = BROKEN[file.name]
            assert facts["triangles"] == triangles, (name, facts["triangles"])
            assert must_notice <= codes, (name, codes)
            mended += 1
            continue
        mesh = trimesh.load(file, process=False)
        assert facts["triangles"] == len(mesh.faces), (name, facts["triangles"], len(mesh.faces))
        assert np.allclose(facts["extents_mm"], mesh.extents, rtol=1e-6, atol=1e-6), name
        assert np.isclose(facts["area_mm2"], mesh.area, rtol=1e-5), (name, facts["area_mm2"], mesh.area)
        counted += 1
    print(f"files: {read} read, {refused} refused in words; triangles, size and area of {counted} agree with trimesh")
    assert (refused, mended) == (len(REFUSED), len(BROKEN)) and counted >= 15


if __name__ == "__main__":
    main(*sys.argv[1:])
