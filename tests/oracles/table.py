"""The CSV of a region map by its published Table Schema, judged by frictionless.

    table.py SCHEMA CSV JSON

CSV and JSON come from one run of `grisaille map`. The file is valid, its sums are those of the summary, and
broken in one place it is not valid.
"""

import csv
import io
import json
import sys

from frictionless import Resource, Schema


def valid(schema, text):
    resource = Resource(data=text.encode(), format="csv", scheme="buffer", schema=Schema.from_descriptor(schema))
    return resource.validate()


def main(schema, path, summary):
    schema, facts = json.load(open(schema)), json.load(open(summary))
    assert Schema.validate_descriptor(schema).valid
    text = open(path, newline="").read()
    assert text.endswith("\r\n") and "\n" not in text.replace("\r\n", "")
    report = valid(schema, text)
    assert report.valid, report.flatten(["rowNumber", "fieldName", "message"])
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [(int(r["region"]), r["name"]) for r in rows] == [(r["id"], r["name"]) for r in facts["regions"]]
    for row, region in zip(rows, facts["regions"]):
        assert abs(float(row["area_mm2"]) - region["area_mm2"]) < 0.006, row
    assert abs(sum(float(r["share"]) for r in rows) - 1) < 1e-4 * len(rows)
    lights = {light["name"] for light in facts["lights"]}
    assert {r["main_light"] for r in rows if r["main_light"]} <= lights
    # Bands and light by region add up to those of the whole, but for what a border cuts within a triangle.
    for band in facts["bands"]:
        key = f"band_{band['band'] + 1}_share"
        share = sum(float(r[key]) * float(r["share"]) for r in rows if r[key])
        assert abs(share - band["share"]) < 0.02, (band, share)
    unlit = sum(float(r["unlit_share"]) * float(r["share"]) for r in rows if r["unlit_share"])
    assert abs(unlit - facts["unlit_share"]) < 0.02, unlit
    lines = text.splitlines(keepends=True)
    first = rows[0]
    broken = {
        "a column less": text.replace("region,name,", "region,", 1),
        "a word for a number": text.replace(f",{first['area_mm2']},", ",much,", 1),
        "a share above 1": text.replace(f",{first['share']},", ",1.5,", 1),
        "no name": text.replace(f"1,{first['name']},", "1,,", 1),
        "a region twice": text + lines[1],
        "no colour": text.replace(first["swatch"], "grey", 1),
        "a cell more": text.replace("\r\n", ",1\r\n", 2).replace(",1\r\n", "\r\n", 1),
    }
    for what, made in broken.items():
        assert made != text, what
        assert not valid(schema, made).valid, what
    print(f"frictionless: {len(rows)} regions valid by the published schema, {len(broken)} broken tables not")


if __name__ == "__main__":
    main(*sys.argv[1:])
