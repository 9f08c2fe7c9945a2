"""One ray against a mesh in rational numbers: nothing is rounded.

For rays about which two engines differ. Vertices and origins are `f32` and
directions `f64`, so every number has an exact fraction.
"""

from fractions import Fraction

import numpy as np


def decided(vertices, faces, closed, origin, toward, far, size):
    """Who is right about one ray, and how near to an edge it passes.

    `toward` is the way to the light in `f64`: of any length for a direction
    (`far` is None), up to the point light itself for a point (`far` is 1).
    Returns a dict:

    exact       whether any face lies on the ray
    entering    the same, but faces of closed pieces count only where the ray
                enters the solid: from outside of every piece it is the same
    single      `exact` for the direction rounded to `f32`, as Embree is given it
    edge        the distance from the ray to the nearest edge of a face that it
                meets, or comes within a millionth of the size of meeting,
                over the size; infinite where there is none
    from_plane  the least sine between the ray and the plane of such a face
    """
    corners = vertices[faces].astype(np.float64)
    start = origin.astype(np.float64)
    length = np.linalg.norm(toward)
    unit = toward / length
    reach = np.inf if far is None else length * far
    # Faces whose ball the ray passes, generously.
    middle = corners.mean(axis=1)
    radius = np.linalg.norm(corners - middle[:, None], axis=2).max(axis=1)
    along = np.clip((middle - start) @ unit, 0.0, reach)
    off = np.linalg.norm(middle - start - along[:, None] * unit, axis=1)
    near = np.nonzero(off <= radius + 1e-5 * size)[0]

    o = [Fraction(float(x)) for x in origin]
    wide = [Fraction(float(x)) for x in toward]
    narrow = [Fraction(float(x)) for x in unit.astype(np.float32)]
    exact = entering = single = False
    edge, from_plane = np.inf, np.inf
    for f in near:
        triangle = [[Fraction(float(x)) - o[k] for k, x in enumerate(p)] for p in corners[f]]
        hit, into = met(triangle, wide, far)
        hit_narrow, _ = met(triangle, narrow, None if far is None else Fraction(float(length)))
        exact, single = exact or hit, single or hit_narrow
        entering = entering or (hit and (into or not closed[f]))
        distance = min(apart(corners[f][k], corners[f][k - 1], start, unit, reach) for k in range(3))
        if hit or hit_narrow or distance <= 1e-6 * size:
            edge = min(edge, distance / size)
            normal = np.cross(corners[f][1] - corners[f][0], corners[f][2] - corners[f][0])
            if (area := np.linalg.norm(normal)) > 0:
                from_plane = min(from_plane, abs(normal @ unit) / area)
    return {"exact": exact, "entering": entering, "single": single, "edge": edge, "from_plane": from_plane}


def met(triangle, direction, far):
    """Whether a ray from 0 meets a triangle, its border included, and whether
    it comes from the side that the triangle faces."""
    a, b, c = triangle
    sides = [dot(direction, cross(p, q)) for p, q in ((a, b), (b, c), (c, a))]
    volume = sum(sides)
    if volume == 0 or not (all(s >= 0 for s in sides) or all(s <= 0 for s in sides)):
        return False, False
    normal = cross(minus(b, a), minus(c, a))
    distance = dot(normal, a) / dot(normal, direction)
    return (distance > 0 and (far is None or distance < far)), volume < 0


def dot(a, b):
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def minus(a, b):
    return [x - y for x, y in zip(a, b)]


def cross(a, b):
    return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]


def apart(p, q, start, unit, reach):
    """The distance between the edge p–q and the ray, in f64."""
    edge, between = q - p, start - p
    lean, square = edge @ unit, edge @ edge
    share = 0.0
    if square > 0:
        across = square - lean * lean
        share = (between @ edge - (between @ unit) * lean) / across if across > 1e-30 * square else 0.5
        share = min(max(share, 0.0), 1.0)
    along = min(max((p + share * edge - start) @ unit, 0.0), reach)
    # Once more from the other side, where the ray's end was in the way.
    share = min(max((start + along * unit - p) @ edge / square, 0.0), 1.0) if square > 0 else 0.0
    return float(np.linalg.norm(p + share * edge - start - along * unit))
