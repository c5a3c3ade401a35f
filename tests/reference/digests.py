"""Writes digests.toml: number of rows and column sums of every file of product species.

A digit that slips later breaks a sum. Run it in this folder after a change that was meant, and
read the difference:
    python digests.py > digests.toml
"""
import math
import pathlib
import tomllib

SPECIES = pathlib.Path("../../tables/species")
VALUES = ["formation_enthalpy", "enthalpy_from_components", "entropy", "fusion_enthalpy", "melting_point"]


def main():
    print("# Written by digests.py: rows and column sums of the files of product species.")
    for path in sorted(SPECIES.glob("*.toml")):
        rows = tomllib.loads(path.read_text("utf-8")).get("species", [])
        print(f'\n[[file]]\nname = "{path.name}"\nrows = {len(rows)}')
        for key in VALUES:
            total = math.fsum(row[key]["value"] for row in rows if key in row)
            print(f"{key} = {total!r}")
        pieces = [piece for row in rows for piece in row.get("cp", [])]
        edges = math.fsum(piece["from"] + piece["to"] for piece in pieces)
        print(f"temperatures = {edges!r}")
        for form, count in (("nine_term", 9), ("six_term", 5)):
            columns = [[piece["c"][i] for piece in pieces if piece["form"] == form] for i in range(count)]
            print(f"{form} = {[math.fsum(column) for column in columns]!r}")


main()
