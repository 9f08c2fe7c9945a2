"""Whether all wording of the guide stands in one place: a guide in an invented language has no English word left.

    translated.py words.ftl translation.ftl              writes the translation
    translated.py --read guide.pdf scheme paints.csv     looks for English in the guide

The invented language writes every Latin letter of a sentence as a Cyrillic one, whatever it sounds like, and leaves
what is put in as it is. poppler's pdftotext reads the pages, qpdf the descriptions of pictures and the bookmarks. What
the painter calls things in the scheme and the list of paints stays.
"""

import csv
import json
import re
import subprocess
import sys
import tomllib

LATIN = "abcdefghijklmnopqrstuvwxyz"
OURS = "абцдефгхийклмнопярстувщхыз"
TABLE = str.maketrans(LATIN + LATIN.upper(), OURS + OURS.upper())
# Signs of units and scales are no words of any language.
SIGNS = {"mm", "cm", "in", "STL", "OBJ", "PLY", "MF", "grisaille", "L", "U"}


def translated(line: str) -> str:
    """One line of a Fluent file: keys, selectors and placeables stay."""
    if not line.strip() or line.startswith("#"):
        return line
    plural = re.match(r"^(\s*\*?\[\w+\]\s)(.*)$", line)
    if plural:
        head, text = plural.groups()
    elif line.lstrip().startswith("}"):
        return line
    else:
        key, text = line.split("=", 1)
        head = key + "="
        if key.strip() == "language":
            return "language = ru"
    parts = re.split(r"(\{[^}]*\}?|\[\[face\]\]|mm²|cm²|mm\b|cm\b)", text)
    return head + "".join(p if i % 2 else p.translate(TABLE) for i, p in enumerate(parts))


def write(source: str, target: str) -> None:
    with open(source, encoding="utf-8") as file:
        lines = file.read().split("\n")
    with open(target, "w", encoding="utf-8") as file:
        file.write("\n".join(translated(line) for line in lines))


def texts(pdf: str) -> dict[str, str]:
    pages = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, check=True, text=True).stdout
    whole = json.loads(subprocess.run(["qpdf", "--json", pdf], capture_output=True, check=True).stdout)
    found = {"/Alt": [], "/Title": []}

    def walk(value) -> None:
        if isinstance(value, dict):
            for key, inner in value.items():
                if key in found and isinstance(inner, str):
                    found[key].append(inner.removeprefix("u:"))
                walk(inner)
        elif isinstance(value, list):
            for inner in value:
                walk(inner)

    walk(whole["qpdf"])
    return {"pages": pages, "descriptions": "\n".join(found["/Alt"]), "bookmarks": "\n".join(found["/Title"])}


def names_of(scheme: str, paints: str) -> list[str]:
    """What the painter calls things."""
    with open(scheme, "rb") as file:
        said = tomllib.load(file)
    lists = ["light", "region", "palette"]
    things = [thing for kind in lists for thing in said.get(kind, [])] + said["print"]["freehand"]
    with open(paints, encoding="utf-8") as file:
        own = [row["name"] for row in csv.DictReader(file)]
    return [said["title"], *(thing["name"] for thing in things), *own]


def read(pdf: str, scheme: str, paints: str) -> None:
    names = ["diver.stl", *names_of(scheme, paints)]
    known = {word for name in names for word in re.findall(r"[A-Za-z]+", name)} | SIGNS
    for where, text in texts(pdf).items():
        ours = len(re.findall(r"[а-яА-Я]{3,}", text))
        left = {w for w in re.findall(r"[A-Za-z]+", text) if len(w) > 1 and w not in known}
        assert ours > 30, f"{where}: {ours} words of the invented language"
        assert not left, f"{where}: not translated: {sorted(left)[:40]}"
        print(f"translated guide, {where}: {ours} words, no English left")


if sys.argv[1] == "--read":
    read(*sys.argv[2:])
else:
    write(sys.argv[1], sys.argv[2])
