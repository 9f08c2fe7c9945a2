"""What each sample sees, checked against the ray engine Embree.

    rays.py VISIBILITY FOLDER [REAL_MODELS]

VISIBILITY is the example of that name of grisaille-sight; its dumps go into
FOLDER. The same rays, from the same origins, are traced against the same
triangles, for the diver and every real model. Compared are samples that are
not buried and are turned toward the light by more than n·l = 0.02.

Each ray about which the engines differ is decided in rational numbers
(`exact.py`) and printed with what was found; ours must be the exact answer.
Counted apart are those that pass farther than 1e-4 of the model's size from
an edge. So that `exact.py` is itself held to something, it also decides one
ray of each source about which the engines agree.
"""

import os
import subprocess
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
from embreex.mesh_construction import TriangleMesh
from embreex.rtcore_scene import EmbreeScene

import exact

LEAST_AGREEMENT = 0.9999
GRAZING = 0.02
NEAR_AN_EDGE = 1e-4
DIRECTIONS = 40
LAMPS = ["lamp before it", "lamp within its bounds", "lamp between its parts", "lamp far away"]
# Files that were converted from another format stand along Y, in units of their own.
ALONG_Y = "nefertiti-lowres skull koala goathead human_man sword hammer spot penguin_hr".split()
# Of many pieces that are pushed into each other, some of them open.
OVERLAPPING = ["as-3DSMaxExport.STL", "as-Spider_binary.stl", "as-Wuson.stl"]


class Dump:
    def __init__(self, path):
        self.data = open(path, "rb").read()
        assert self.data[:8] == b"grisight", "not a dump of the example `visibility`"
        self.at = 8
        samples, vertices, faces, directions, lamps = (int(n) for n in self.take("<u4", 5))
        self.positions = self.take("<f4", samples, 3)
        self.normals = self.take("<f4", samples, 3)
        self.origins = self.take("<f4", samples, 3)
        self.buried = self.take("u1", samples) == 1
        self.vertices = self.take("<f4", vertices, 3)
        self.faces = self.take("<u4", faces, 3)
        self.closed = self.take("u1", faces) == 1
        self.directions = self.take("<f8", directions, 3)
        self.lamps = self.take("<f8", lamps, 3)
        bits = self.take("u1", directions + lamps, -(-samples // 64) * 8)
        self.seen = np.unpackbits(bits, axis=1, bitorder="little")[:, :samples] == 1
        assert self.at == len(self.data), "the dump has another length than its header says"

    def take(self, kind, *shape):
        values = np.frombuffer(self.data, kind, int(np.prod(shape)), self.at)
        self.at += values.nbytes
        return values.reshape(shape)


def occluded(scene, origins, directions, lengths=None):
    """Whether anything lies on each ray; at most `lengths` away where given."""
    hit = scene.run(
        np.ascontiguousarray(origins, dtype=np.float32),
        np.ascontiguousarray(directions, dtype=np.float32),
        dists=None if lengths is None else np.ascontiguousarray(lengths, dtype=np.float32),
        query="OCCLUDED",
    )
    return np.asarray(hit) != -1


def compared(model):
    """One model's row of the table, a line for each ray that differs, and what
    `main` asserts on."""
    visibility, folder, name, path, height, up = model
    dumped = Path(folder) / name
    subprocess.run([visibility, path, dumped, str(height), up, str(DIRECTIONS)], check=True)
    dump = Dump(dumped)
    dumped.unlink()
    scene = EmbreeScene(robust=True)
    TriangleMesh(scene, np.ascontiguousarray(dump.vertices), np.ascontiguousarray(dump.faces, dtype=np.int32))
    size = float(np.linalg.norm(np.ptp(dump.vertices, axis=0)))
    rays = dark = differ = 0
    worst, told, found = (2.0, "none"), [], {"near an edge": 0, "farther": 0, "not exact": 0}
    for source in range(DIRECTIONS + len(LAMPS)):
        if source < DIRECTIONS:
            toward = np.broadcast_to(dump.directions[source], dump.positions.shape)
            unit, lengths, far, called = toward, None, None, f"direction {source}"
        else:
            # From the origin, so that the ray's length is the lamp's distance.
            toward = dump.lamps[source - DIRECTIONS] - dump.origins.astype(np.float64)
            lengths = np.linalg.norm(toward, axis=1)
            unit, far, called = toward / lengths[:, None], 1, LAMPS[source - DIRECTIONS]
        turned = np.einsum("ij,ij->i", dump.normals.astype(np.float64), unit)
        ask = np.nonzero(~dump.buried & (turned > GRAZING))[0]
        if not len(ask):
            continue
        seen = ~occluded(scene, dump.origins[ask], unit[ask], None if lengths is None else lengths[ask])
        ours = dump.seen[source][ask]
        rays, dark = rays + len(ask), dark + int((~seen).sum())
        other = np.nonzero(seen != ours)[0]
        differ += len(other)
        worst = min(worst, (1 - len(other) / len(ask), called))
        # A share of one in a thousand is long a failure below; no need to decide each of them.
        for k in [len(ask) // 2, *other[: max(1, len(ask) // 1000)]]:
            i = ask[k]
            truth = exact.decided(dump.vertices, dump.faces, dump.closed, dump.origins[i], toward[i], far, size)
            found["not exact"] += bool(ours[k]) == truth["entering"]
            if ours[k] == seen[k]:
                continue
            found["near an edge" if truth["edge"] <= NEAR_AN_EDGE else "farther"] += 1
            told.append(
                f"    {name}: {called}, sample {i}, n·l {turned[i]:.4f}, {truth['edge']:.1e} of the size from an edge,"
                f" sine to the face {truth['from_plane']:.1e}; here {'lit' if ours[k] else 'dark'}; exactly:"
                f" {'blocked' if truth['exact'] else 'free'}, entering {'blocked' if truth['entering'] else 'free'},"
                f" as f32 {'blocked' if truth['single'] else 'free'}"
            )
    share = 1 - differ / rays
    row = (
        f"| {name} | {len(dump.faces):,} | {len(dump.positions):,} | {dump.buried.mean():.1%} | {rays:,} | {dark / rays:.0%}"
        f" | {differ} | {share:.4%} | {worst[0]:.3%} ({worst[1]}) | {found['near an edge']} | {found['farther']} | {found['not exact']} |"
    )
    return row, told, name, int(dump.buried.sum()), dark / rays, worst, found


def main(visibility, folder, real=None):
    models = [("diver", "models-demo/diver.stl", 0, "z")]
    if real:
        for path in sorted((Path(real) / "models").glob("*.stl")):
            models.append((path.stem, path, 40 if path.stem in ALONG_Y else 0, "y" if path.stem in ALONG_Y else "z"))
        models += [(Path(name).stem, Path(real) / "odd" / name, 0, "z") for name in OVERLAPPING]
        assert len(models) > 20, f"{real} holds only {len(models) - 4} models"
    print("| model | triangles | samples | buried | rays | dark | differ | agree | worst source | near an edge | farther | not exact |")
    print("| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | --- | ---: | ---: | ---: |")
    work = [(visibility, folder, *model) for model in models]
    overlapping = 0
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        results = list(pool.map(compared, work))
    for row, told, *_ in results:
        print(row)
        print("".join(line + "\n" for line in told), end="")
    for _, _, name, buried, dark, worst, found in results:
        overlapping += buried > 100
        # A check in which hardly anything is dark or lit would prove little.
        assert 0.02 < dark < 0.98, f"{name}: too few rays are blocked, or too many, to compare engines"
        assert worst[0] >= LEAST_AGREEMENT, f"{name}: only {worst[0]:.3%} agree with Embree about {worst[1]}"
        assert found["not exact"] == 0, f"{name}: {found['not exact']} answers are not the exact ones"
    assert not real or overlapping >= 3, "too few models of overlapping pieces"


if __name__ == "__main__":
    main(*sys.argv[1:])
