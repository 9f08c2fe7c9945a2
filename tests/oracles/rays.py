"""What each sample sees, checked against the ray engine Embree.

    rays.py NAME DUMP

DUMP comes from the example `visibility` of grisaille-sight. The same rays,
from the same origins, are traced against the same triangles. Compared are
samples that are not buried and are turned toward the light by more than
n·l = 0.05; at a grazing angle both engines answer about their own rounding.
"""

import sys

import numpy as np
from embreex.mesh_construction import TriangleMesh
from embreex.rtcore_scene import EmbreeScene

LEAST_AGREEMENT = 0.995
GRAZING = 0.05


class Dump:
    def __init__(self, path):
        self.data = open(path, "rb").read()
        assert self.data[:8] == b"grisight", "not a dump of the example `visibility`"
        self.at = 8
        samples, vertices, faces, directions = self.take("<u4", 4)
        self.positions = self.take("<f4", samples, 3)
        self.normals = self.take("<f4", samples, 3)
        self.origins = self.take("<f4", samples, 3)
        self.buried = self.take("u1", samples) == 1
        self.vertices = self.take("<f4", vertices, 3)
        self.faces = self.take("<u4", faces, 3)
        self.directions = self.take("<f8", directions, 3)
        self.lamp = self.take("<f8", 3)
        words = -(-int(samples) // 64)
        bits = self.take("u1", int(directions) + 1, words * 8)
        self.seen = np.unpackbits(bits, axis=1, bitorder="little")[:, :samples] == 1
        assert self.at == len(self.data), "the dump has another length than its header says"

    def take(self, kind, *shape):
        shape = [int(n) for n in shape]
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


def main(name, path):
    dump = Dump(path)
    scene = EmbreeScene(robust=True)
    TriangleMesh(
        scene,
        np.ascontiguousarray(dump.vertices, dtype=np.float32),
        np.ascontiguousarray(dump.faces, dtype=np.int32),
    )
    compared = agreed = dark = lit_here_only = 0
    worst = (1.0, "none")
    for source in range(len(dump.directions) + 1):
        if source < len(dump.directions):
            toward = np.broadcast_to(dump.directions[source], dump.positions.shape)
            lengths, called = None, f"direction {source}"
        else:
            # From the origin, so that the ray's length is the lamp's distance.
            toward = dump.lamp - dump.origins.astype(np.float64)
            lengths = np.linalg.norm(toward, axis=1)
            toward, called = toward / lengths[:, None], "the lamp"
        turned = np.einsum("ij,ij->i", dump.normals.astype(np.float64), toward)
        ask = ~dump.buried & (turned > GRAZING)
        seen = ~occluded(scene, dump.origins[ask], toward[ask], None if lengths is None else lengths[ask])
        ours = dump.seen[source][ask]
        same = int((seen == ours).sum())
        compared, agreed = compared + int(ask.sum()), agreed + same
        dark += int((~seen).sum())
        lit_here_only += int((ours & ~seen).sum())
        if ask.any() and same < ask.sum():
            worst = min(worst, (same / int(ask.sum()), called))
    share = agreed / compared
    print(
        f"{name:34} {len(dump.positions):8} samples {int(dump.buried.sum()):6} buried {compared:9} rays {dark / compared:6.1%} dark  "
        f"agree {share:.4%}  worst {worst[0]:.3%} ({worst[1]})  "
        f"lit only here {lit_here_only}, only there {compared - agreed - lit_here_only}"
    )
    # A check in which hardly anything is dark or lit would prove little.
    assert 0.02 < dark / compared < 0.98, "too few rays are blocked, or too many, to compare engines"
    assert share >= LEAST_AGREEMENT, f"{name}: only {share:.3%} of visibility answers agree with Embree"


if __name__ == "__main__":
    main(*sys.argv[1:])
