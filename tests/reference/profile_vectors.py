"""Test vectors of the profile."""

import json

import profile_codec as codec


def vector_file(kind):
    return json.loads((codec.SPEC / "vectors" / f"{kind.replace(' ', '-')}.json").read_text(encoding="utf-8"))


def vector(kind, name):
    (row,) = [row for row in vector_file(kind)["valid"] if row["name"] == name]
    return bytes.fromhex(row["hex"])
