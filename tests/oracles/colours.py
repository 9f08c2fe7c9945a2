"""Colours against two libraries that we did not write.

    colours.py COLOURS TESTS_DATA

COLOURS is the built example `colours` of grisaille-colour, TESTS_DATA the folder
of its tables. colour-science and coloraide are asked about the same 10,000 pairs
of random colours (sRGB, CIELAB, Oklab, CIEDE2000, WCAG contrast, Munsell value, colour-blind eyes)
and colour-science about 24 reflectance curves.
"""

import csv
import random
import subprocess
import sys
import warnings

import numpy as np
from coloraide import Color

warnings.filterwarnings("ignore")  # Of parts of colour-science that are not installed.
import colour  # noqa: E402

D65 = [0.3127, 0.3290]


def ask(program, rows):
    text = "".join(",".join(map(str, row)) + "\n" for row in rows)
    said = subprocess.run([program], input=text, capture_output=True, text=True, check=True).stdout
    return np.array([[float(n) for n in line.split(",")] for line in said.splitlines()])


def close(what, ours, theirs, tolerance):
    far = np.abs(np.asarray(ours) - np.asarray(theirs)).max()
    assert far <= tolerance, f"{what}: differ by {far}, allowed {tolerance}"
    return f"{what} {far:.1e}"


def main(program, data):
    draw = random.Random(20050130)
    pairs = [[draw.randrange(256) for _ in range(6)] for _ in range(10_000)]
    # Some near pairs too, as mixes are compared.
    for row in pairs[:2000]:
        row[3:] = [min(255, max(0, c + draw.randrange(-9, 10))) for c in row[:3]]
    ours = ask(program, pairs)
    one, other = (np.array(pairs)[:, k : k + 3] / 255 for k in (0, 3))

    # colour-science, with the matrix of the primaries at full precision.
    space = colour.RGB_COLOURSPACES["sRGB"].copy()
    space.use_derived_transformation_matrices(True)

    def xyz(rgb):
        return colour.RGB_to_XYZ(rgb, space, apply_cctf_decoding=True)

    lab, lab2 = (colour.XYZ_to_Lab(xyz(c), D65) for c in (one, other))
    back = colour.colorimetry.luminance_ASTMD1535(ours[:, 8]) / 100
    said = [
        close("L*a*b*", ours[:, :3], lab, 1e-6),
        close("CIEDE2000", ours[:, 6], colour.delta_E(lab, lab2, method="CIE 2000"), 1e-5),
        close("luminance of Munsell value", back, xyz(one)[:, 1], 1e-6),
    ]

    # Eyes that lack a kind of cones: the tables of Machado, Oliveira and Fernandes (2009) at full severity.
    linear = colour.cctf_decoding(one)
    for k, name in enumerate(["Protanomaly", "Deuteranomaly", "Tritanomaly"]):
        matrix = colour.matrix_cvd_Machado2009(name, 1.0)
        seen_by = np.clip(colour.algebra.vecmul(matrix, linear), 0, 1)
        theirs = colour.XYZ_to_Lab(colour.RGB_to_XYZ(seen_by, space), D65)
        said.append(close(name, ours[:, 9 + 3 * k : 12 + 3 * k], theirs, 1e-4))

    # coloraide: the same D65, matrices of its own; WCAG's weights with more than their four digits.
    picked = [(Color("srgb", a), Color("srgb", b)) for a, b in zip(one.tolist(), other.tolist())]
    ok = [a.convert("oklab").coords() for a, _ in picked]
    apart = [a.delta_e(b, method="2000", space="lab-d65") for a, b in picked]
    contrast = [a.contrast(b, method="wcag21") for a, b in picked]
    said += [
        close("Oklab", ours[:, 3:6], ok, 1e-6),
        close("CIEDE2000 again", ours[:, 6], apart, 1e-5),
        close("contrast", ours[:, 7], contrast, 2e-3),
    ]

    rows = [r for r in csv.reader(open(f"{data}/colorchecker_reflectance.csv")) if not r[0].startswith("#")]
    nm, patches = [int(n) for n in rows[0][1:]], rows[1:]
    ours = ask(program, [row[1:] for row in patches])
    seen = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    light = colour.SDS_ILLUMINANTS["D65"]
    curves = [colour.SpectralDistribution(dict(zip(nm, map(float, row[1:])))) for row in patches]
    lab = [colour.XYZ_to_Lab(colour.sd_to_XYZ(c, seen, light) / 100, D65) for c in curves]
    said.append(close("24 spectra", ours, lab, 0.05))
    print(f"colour: 10,000 pairs, largest differences: {', '.join(said)}")


if __name__ == "__main__":
    main(*sys.argv[1:])
