"""The printed guide: a sound, tagged PDF whose 50 mm bar is 50 mm long.

    guide.py PDF TITLE
"""

import re
import subprocess
import sys

DPI = 254  # 10 pixels to the millimetre
BAR_MM = 50


def say(*command):
    return subprocess.run(command, check=True, capture_output=True).stdout


def text(*command):
    return say(*command).decode("utf-8", "replace")


def bar_px(pdf):
    """The longest dark run right above the word 'Measure', in pixels."""
    pages = text("pdftotext", "-bbox", pdf, "-").split("<page ")[1:]
    found = [
        (number, *map(float, match.groups()))
        for number, page in enumerate(pages, 1)
        for match in re.finditer(r'xMin="([\d.]+)" yMin="([\d.]+)"[^>]*>Measure<', page)
    ]
    assert len(found) == 1, f"'Measure' stands {len(found)} times in the guide, not once"
    page, x, y = found[0]
    x, y = round(x * DPI / 72), round(y * DPI / 72)
    crop = ["-x", str(max(x - 50, 0)), "-y", str(max(y - 120, 0)), "-W", "700", "-H", "120"]
    pgm = say("pdftoppm", "-r", str(DPI), "-gray", "-f", str(page), "-l", str(page), *crop, pdf)
    _, width, height, depth = pgm.split(maxsplit=4)[:4]
    width, height = int(width), int(height)
    assert depth == b"255"
    pixels = pgm[-width * height :]
    rows = (pixels[r * width : (r + 1) * width] for r in range(height))
    return max(len(run) for row in rows for run in re.findall(rb"[\x00-\x7f]+", row) or [b""])


def main(pdf, title):
    say("qpdf", "--check", pdf)
    longest = bar_px(pdf)
    assert abs(longest - BAR_MM * 10) <= 2, f"the 50 mm bar is {longest / 10} mm long"

    fonts = text("pdffonts", pdf).splitlines()
    column = fonts[0].index("emb")
    assert len(fonts) > 2, "the guide has no fonts"
    loose = [line for line in fonts[2:] if line[column : column + 3] != "yes"]
    assert not loose, f"fonts that are not embedded: {loose}"

    facts = dict(line.split(":", 1) for line in text("pdfinfo", pdf).splitlines() if ":" in line)
    assert facts["Tagged"].strip() == "yes"
    assert facts["Title"].strip() == title, facts["Title"]
    root = re.search(r"/Root (\d+) 0 R", text("qpdf", "--show-object=trailer", pdf)).group(1)
    catalogue = text("qpdf", f"--show-object={root}", pdf)
    assert re.search(r"/Lang \(en", catalogue), "the guide names no language"
    print(f"guide: the 50 mm bar is {longest / 10} mm, {len(fonts) - 2} fonts embedded, tagged, in English")


if __name__ == "__main__":
    main(*sys.argv[1:])
