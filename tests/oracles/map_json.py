"""Judges the map's JSON by its published schema with Python's jsonschema.

The schema itself is one of JSON Schema 2020-12 by its own rules; each map is valid against it; each of the
broken ones, made by one change to a real one, is not.
"""

import copy
import json
import sys

from jsonschema import Draft202012Validator


def broken(fact):
    """Real facts with one thing wrong each."""

    def changed(change):
        made = copy.deepcopy(fact)
        change(made)
        return made

    yield "a key missing", changed(lambda f: f.pop("bands"))
    yield "a key too many", changed(lambda f: f.update(sheen=1))
    yield "a share above 1", changed(lambda f: f.update(unlit_share=1.2))
    yield "a share below 0", changed(lambda f: f["bands"][0].update(share=-0.1))
    yield "a number as text", changed(lambda f: f.update(height_mm="54"))
    yield "two extents", changed(lambda f: f.update(extents_mm=f["extents_mm"][:2]))
    yield "a light without a name", changed(lambda f: f["lights"][0].pop("name"))
    yield "a region numbered 0", changed(lambda f: f["regions"][0].update(id=0))
    yield "a finding without its hint", changed(
        lambda f: f.update(findings=[{"code": "no-base", "count": 1, "place": None}])
    )
    yield "an unknown place", changed(
        lambda f: f.update(findings=[{"code": "x", "count": 1, "place": {"page": 3}, "hint": ""}])
    )


def main(schema, *maps):
    schema = json.load(open(schema))
    Draft202012Validator.check_schema(schema)
    judge = Draft202012Validator(schema)
    refused = 0
    for path in maps:
        fact = json.load(open(path))
        errors = [f"{e.json_path}: {e.message}" for e in judge.iter_errors(fact)]
        assert not errors, f"{path}: {errors[:3]}"
        for what, made in broken(fact):
            assert not judge.is_valid(made), f"{path}: {what} is not noticed"
            refused += 1
    print(f"map JSON: {len(maps)} valid against the published schema, {refused} broken ones not")


main(*sys.argv[1:])
