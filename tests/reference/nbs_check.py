"""Sets the tables beside the NBS tables of 1982 and writes nbs_1982.toml, which a test reads.

    python nbs_check.py nbs_1982.csv > nbs_1982.toml

The list of values (columns formula, name, description, solution, state, dfH_298_kJ_mol) is the
digital release, doi 10.18434/M32124; it is not part of this repository. Differences above 3 kJ/mol
go to stderr; each needs a reason in nbs_differences.toml. After them comes the check of the rule
for rare-earth nitrates that have no value there.
"""
import csv
import pathlib
import re
import sys
import tomllib
from collections import defaultdict

HERE = pathlib.Path(__file__).parent
TABLES = HERE / "../../tables"
WATER, NITRATE = -285.830, -207.36
# Which of several rows of one composition and phase is meant: a word of its name or description.
PICK = {
    "urea": "urea", "odh": "oxalyl", "thiourea": "cr2", "acetamide": "acetamide", "dicyandiamide": "cyanoguanidine",
    "nh4_oxalate": "ammonium oxalate", "caco3": "calcite", "mnco3": "natural", "oxalic_acid": "oxalic",
    "Al2O3(cr,delta)": "δ", "Al2O3(cr,gamma)": "γ", "Al2O3(cr,kappa)": "κ", "Al2O3(cr,alpha)": "corundum",
    "TiO2(cr,rutile)": "rutile", "TiO2(cr,anatase)": "anatase", "Al2SiO5(cr,andalusite)": "andalusite",
    "Al2SiO5(cr,kyanite)": "kyanite", "Al2SiO5(cr,sillimanite)": "sillimanite", "CaCO3(cr,aragonite)": "aragonite",
    "CaCO3(cr,calcite)": "calcite", "Eu2O3(cr,B)": "monoclinic", "Eu2O3(cr,C)": "cubic", "MnCO3(cr)": "natural",
    "CaSiO3(cr,pseudowollastonite)": "pseudowollastonite", "CaSiO3(cr)": "wollastonite",
    "SiO2(cr,quartz)": "quartz", "SiO2(cr,cristobalite)": "cristobalite", "SiO2(cr,tridymite)": "tridymite",
    "CaAl2Si2O8(cr)": "triclinic", "FeOOH(cr)": "geothite",
}
# Same composition, but another substance or form than any row there.
NONE = {
    "ethylenediamine", "FeOOH(cr,lepidocrocite)", "Fe2O3(cr,maghemite)", "Fe(OH)3(cr)", "Fe(OH)2(cr)",
    "Mg(OH)2(cr)", "MnO2(cr)", "ZrO2(cr,tetragonal)", "Gd2O3(cr,C)", "PbSiO3(cr)", "HBO2(cr)", "Al(OH)3(cr)",
    "tio2", "gd2o3", "fumed_silica",
    "Na2SO4(cr,I)", "K2SO4(cr,beta)", "Ba3(PO4)2(cr)", "NaO2",
}


def atoms(formula):
    """Element → amount, crystal water included; None for an ion or an unreadable formula."""
    total = defaultdict(float)
    for part in formula.replace("[", "(").replace("]", ")").split("·"):
        number = re.match(r"\d+(?:[./]\d+)?", part)
        factor = 1.0
        if number:
            a, _, b = number.group().partition("/")
            factor = float(a) / float(b or 1)
            part = part[number.end():]
        stack = [defaultdict(float)]
        for symbol, count, close, times in re.findall(r"([A-Z][a-z]?|\()(\d+(?:\.\d+)?)?|(\))(\d+(?:\.\d+)?)?", part):
            if symbol == "(":
                stack.append(defaultdict(float))
            elif close:
                if len(stack) < 2:
                    return None
                for element, n in stack.pop().items():
                    stack[-1][element] += n * float(times or 1)
            else:
                stack[-1][symbol] += float(count or 1)
        for element, n in stack[0].items():
            total[element] += factor * n
    return tuple(sorted((e, round(n, 4)) for e, n in total.items())) if total else None


def published(path):
    found = defaultdict(list)
    with open(path, encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        ion = re.search(r"[+-]$|[+-]\d*$", row["formula"])
        if row["solution"] or ion or not row["dfH_298_kJ_mol"]:
            continue
        found[atoms(row["formula"]), row["state"].rstrip("0123456789")].append(row)
    return found, rows


def ours():
    for kind, folder in (("reactant", "reactants"), ("species", "species")):
        for path in sorted((TABLES / folder).glob("*.toml")):
            for row in tomllib.loads(path.read_text("utf-8")).get(kind, []):
                if "formation_enthalpy" in row:
                    yield kind, row["id"], row["formula"], row["phase"], row["formation_enthalpy"]["value"]


def choice(key, rows):
    word = PICK.get(key)
    if word:
        rows = [r for r in rows if r["state"] == word or word in (r["name"] + " " + r["description"]).split(", ")[0]
                or word in r["name"] + r["description"]]
        exact = [r for r in rows if (r["name"] or r["description"]).split(".")[-1].strip() == word]
        rows = exact or rows
    return rows[0] if rows and key not in NONE else None


def leave_one_out(rows):
    """Heats of solution of the rare-earth nitrate hexahydrates, and how well the rules give them."""
    ion = {"Ce": -696.2, "Pr": -704.6, "Nd": -696.2, "Sm": -691.6, "Eu": -605.0}
    crystal = {r["formula"]: float(r["dfH_298_kJ_mol"]) for r in rows if r["dfH_298_kJ_mol"] and r["state"] == "cr"}
    heat = {m: h + 3 * NITRATE + 6 * WATER - crystal[f"{m}(NO3)3·6H2O"] for m, h in ion.items()}
    for metal, h in heat.items():
        others = [x for m, x in heat.items() if m != metal]
        print(f"# {metal}: {h:.2f} kJ/mol, mean of the others {sum(others) / len(others):.2f}", file=sys.stderr)
    print(f"# mean {sum(heat.values()) / len(heat):.2f} kJ/mol", file=sys.stderr)


def main():
    found, rows = published(sys.argv[1])
    explained = tomllib.loads((HERE / "nbs_differences.toml").read_text("utf-8"))["difference"]
    explained = {key for group in explained for key in group["of"]}
    print("# Written by nbs_check.py: formation enthalpies at 298.15 K of the NBS tables (1982), kJ/mol, for")
    print("# every row of ours with the same composition and phase.")
    print("rows = [")
    total, count = 0.0, 0
    for kind, key, formula, phase, value in ours():
        row = choice(key, found.get((atoms(formula), phase), []))
        if row is None:
            continue
        nbs = float(row["dfH_298_kJ_mol"])
        total, count = total + nbs, count + 1
        print(f'  ["{kind}", "{key}", {nbs}],')
        if abs(value - nbs) > 3 and key not in explained:
            print(f"{key}: {value} here, {nbs} there ({row['name']} {row['description']})", file=sys.stderr)
    print(f"]\ncount = {count}\nsum = {round(total, 3)}")
    leave_one_out(rows)


main()
