"""A 3MF file by the consortium's own reader in its strict mode.

    three_mf.py 3MF JSON PLY [NAME...]

All files come from one run of `grisaille map`; the names are those of the models. Nothing is warned of, each
model is one closed object in mm, and names, colours and counts come back.
"""

import json
import sys

import lib3mf
import numpy as np
import trimesh


def grey(lightness):
    """CIE 15:2018, equation 8.12 turned round, then IEC 61966-2-1: L* to a byte."""
    t = (lightness + 16.0) / 116.0
    y = t**3 if t > 6.0 / 29.0 else 3.0 * (6.0 / 29.0) ** 2 * (t - 4.0 / 29.0)
    return 255.0 * (12.92 * y if y <= 0.0031308 else 1.055 * y ** (1 / 2.4) - 0.055)


def main(path, summary, ply, *models):
    facts = json.load(open(summary))
    raw = trimesh.load(ply, process=False)
    file = lib3mf.get_wrapper().CreateModel()
    reader = file.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(path)
    warnings = [reader.GetWarning(i) for i in range(reader.GetWarningCount())]
    assert not warnings, warnings
    assert file.GetUnit() == lib3mf.ModelUnit.MilliMeter
    groups = file.GetColorGroups()
    assert groups.MoveNext()
    group = groups.GetCurrentColorGroup()
    colours = {}
    for i in group.GetAllPropertyIDs():
        c = group.GetColor(i)
        colours[i] = (c.Red, c.Green, c.Blue, c.Alpha)
    assert len(set(colours.values())) == len(colours) and not groups.MoveNext()
    names, volume, triangles, sets = [], 0.0, 0, {}
    area = dict.fromkeys(colours, 0.0)
    low = np.full(3, np.inf)
    objects = file.GetMeshObjects()
    while objects.MoveNext():
        o = objects.GetCurrentMeshObject()
        names.append(o.GetName())
        assert o.GetType() == lib3mf.ObjectType.Model and o.IsValid() and o.IsManifoldAndOriented()
        p = np.array([list(v.Coordinates) for v in o.GetVertices()], dtype=np.float64)
        t = np.array([list(v.Indices) for v in o.GetTriangleIndices()])
        low = np.minimum(low, p.min(axis=0))
        a, b, c = p[t[:, 0]], p[t[:, 1]], p[t[:, 2]]
        volume += np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0
        size = 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1)
        properties = o.GetAllTriangleProperties()
        assert {q.ResourceID for q in properties} == {group.GetResourceID()}
        own = np.array([q.PropertyIDs[0] for q in properties])
        for i in colours:
            area[i] += size[own == i].sum()
        seen = []
        for i in range(o.GetTriangleSetCount()):
            s = o.GetTriangleSet(i)
            seen += s.GetTriangleList()
            sets.setdefault(s.GetIdentifier(), [s.GetName(), 0.0])[1] += size[s.GetTriangleList()].sum()
        assert sorted(seen) == list(range(len(t))), "each triangle in one region"
        triangles += len(t)
    assert sorted(names) == sorted(models), names
    assert triangles == facts["faces"], (triangles, facts["faces"])
    assert abs(volume - raw.volume) < 1e-5 * raw.volume, (volume, raw.volume)
    assert abs(sum(area.values()) - raw.area) < 1e-5 * raw.area
    # What is built begins at the corner of the build volume.
    items = file.GetBuildItems()
    while items.MoveNext():
        moved = items.GetCurrent().GetObjectTransform()
        assert np.abs(np.array(list(moved.Fields[3])) + low).max() < 1e-4
    want = {f"region-{r['id']}": r["name"] for r in facts["regions"]}
    assert {i: name for i, (name, _) in sets.items()} == want, sets
    for r in facts["regions"]:
        assert sets[f"region-{r['id']}"][1] >= 0.98 * r["area_mm2"], r
    if all(c[0] == c[1] == c[2] for c in colours.values()):
        tones = sorted(grey(b["tone"]) for b in facts["bands"])
        assert np.abs(np.sort([c[0] for c in colours.values()]) - tones).max() < 0.6, (colours, tones)
        # A band has the area that the summary tells, but for its border, which is cut within triangles.
        for band in facts["bands"]:
            (i,) = [i for i, c in colours.items() if abs(c[0] - grey(band["tone"])) < 0.6]
            if band["band"] > 0:
                assert abs(area[i] - band["area_mm2"]) < 0.03 * facts["painted_area_mm2"], (band, area[i])
    print(f"lib3mf: {len(names)} objects, {triangles} triangles, {len(colours)} colours, {len(want)} regions")


if __name__ == "__main__":
    main(*sys.argv[1:])
