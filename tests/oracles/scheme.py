"""Schemes against their published JSON Schema, by a validator that we did not write.

    scheme.py SCHEMA SCHEME...

The schema itself is one of JSON Schema 2020-12 by its own rules; each scheme is valid against it; each
of them broken in one place is not: an unknown key, a wrong type, a number out of its range, a word that
is none of the words, a missing part.
"""

import copy
import json
import sys
import tomllib

from jsonschema import Draft202012Validator


def broken(scheme):
    """Copies of a scheme with one thing wrong in each, and what that is."""

    def change(what, at, value):
        made = copy.deepcopy(scheme)
        inner = made
        for key in at[:-1]:
            inner = inner[key]
        if value is None:
            del inner[at[-1]]
        else:
            inner[at[-1]] = value
        return what, made

    yield change("no model", ["model"], None)
    yield change("no version", ["version"], None)
    yield change("a later version", ["version"], 99)
    yield change("an unknown table", ["lihgt"], [])
    yield change("an unknown key", ["light", 0, "tlit"], 3.0)
    yield change("a word for a number", ["light", 0, "weight"], "much")
    yield change("a weight below 0", ["light", 0, "weight"], -1.0)
    yield change("an unknown kind", ["light", 0, "kind"], "moon")
    yield change("a colour of two numbers", ["light", 0, "colour"], [1, 2])
    yield change("an unknown mood", ["mood", "name"], "hungry")
    yield change("a mood too strong", ["mood", "strength"], 1.5)
    yield change("an unknown route", ["route"], "sideways")
    yield change("an unknown material", ["region", 0, "material"], "water")
    yield change("seven steps", ["region", 0, "steps"], 7)
    yield change("a place of two numbers", ["region", 0, "at"], [[1.0, 2.0]])
    yield change("no list of paints", ["paints", "file"], None)


def main(schema, *schemes):
    schema = json.load(open(schema))
    Draft202012Validator.check_schema(schema)
    judge = Draft202012Validator(schema)
    refused = 0
    for path in schemes:
        scheme = tomllib.load(open(path, "rb"))
        wrong = [f"{list(e.absolute_path)}: {e.message}" for e in judge.iter_errors(scheme)]
        assert not wrong, (path, wrong)
        for what, made in broken(scheme):
            assert not judge.is_valid(made), (path, what)
            refused += 1
    print(f"schemes: {len(schemes)} valid against the published schema, {refused} broken ones not")


if __name__ == "__main__":
    main(*sys.argv[1:])
