"""Reference values for tests/weigh.rs: masses of bench sheets and propagated uncertainties.

Worked with two general-purpose libraries and no line of this project: atomic weights from
`chemicals` (its periodic table), error propagation by `uncertainties` (analytic derivatives).
Run: python weigh.py > weigh.toml
"""
import re
from math import sqrt

from chemicals.elements import periodic_table
from uncertainties import ufloat


def weight(symbol):
    return getattr(periodic_table, symbol).MW


def atoms(text):
    """Atoms of a formula with at most one level of brackets and a hydrate part behind '.'."""
    found = {}
    for part in text.split("·"):
        lead = re.match(r"^(\d+(?:\.\d+)?)", part)
        factor = float(lead.group(1)) if lead else 1.0
        part = part[lead.end():] if lead else part
        flat = re.sub(
            r"\(([^)]*)\)(\d*)",
            lambda m: "".join(f"{e}{float(n or 1) * int(m.group(2) or 1):g}"
                              for e, n in re.findall(r"([A-Z][a-z]?)([\d.]*)", m.group(1))),
            part)
        for e, n in re.findall(r"([A-Z][a-z]?)([\d.]*)", flat):
            found[e] = found.get(e, 0.0) + factor * float(n or 1)
    return found


def molar_mass(text):
    return sum(n * weight(e) for e, n in atoms(text).items())


# name, target, product grams, {salt: (mol per mol of target, assay)}, fuel, mol of fuel per mol of
# target (worked by hand from the valences), where the ratio stands
SHEETS = [
    ("alumina", "Al2O3", None, {"Al(NO3)3·9H2O": (2, 1.0)}, "CH4N2O", 5.0,
     "2 × 15 / 6 = 5 urea; published as 2.5 urea per Al, Materials 15(18) (2022) 6216; "
     "20 g nitrate and 8 g urea: Kingsley and Patil, Mater. Lett. 6 (1988) 427 (from memory)"),
    ("nickel ferrite", "NiFe2O4", 3.0,
     {"Ni(NO3)2·6H2O": (1, 0.985), "Fe(NO3)3·9H2O": (2, 0.98)}, "C6H8O7·H2O", 20 / 9,
     "(10 + 2 × 15) / 18; published as 2.22 mol, R03 of the redox checks"),
    ("ceria", "CeO2", 2.0, {"Ce(NO3)3·6H2O": (1, 1.0)}, "C2H5NO2", 14 / 9,
     "Ce(IV): 18 − 4 = 14, glycine 9; 14/27 per nitrate ion"),
    ("lanthanum cobaltite", "LaCoO3", 2.5,
     {"La(NO3)3·6H2O": (1, 0.99), "Co(NO3)2·6H2O": (1, 0.98)}, "CH4N2O", 4.0,
     "Co(III): 15 + 9 = 24, urea 6; published as 2 urea per metal, R13 of the redox checks"),
    ("zinc aluminate", "ZnAl2O4", 2.0,
     {"Zn(NO3)2·6H2O": (1, 0.98), "Al(NO3)3·9H2O": (2, 0.985)}, "CH4N2O", 40 / 6,
     "(10 + 30) / 6; the paper behind R14 of the redox checks names this balance"),
    ("yttrium aluminium garnet with cerium", "Y2.97Ce0.03Al5O12", 1.0,
     {"Y(NO3)3·5.6H2O": (2.97, 0.999), "Ce(NO3)3·6H2O": (0.03, 0.995),
      "Al(NO3)3·9H2O": (5, 0.98)}, "C2H5NO2", 120 / 9,
     "Ce(III) as dopant: (2.97 + 0.03 + 5) × 15 / 9"),
    ("cobalt zinc aluminate", "Co0.2Zn0.8Al2O4", 5.0,
     {"Co(NO3)2·6H2O": (0.2, 0.98), "Zn(NO3)2·6H2O": (0.8, 0.98),
      "Al(NO3)3·9H2O": (2, 0.98)}, "C2H5NO2", 1.1 * 40 / 9,
     "1.1 × (10 + 30) / 9"),
    ("zinc aluminate from acetate", "ZnAl2O4", 2.0,
     {"Zn(C2H3O2)2·2H2O": (1, 0.99), "Al(NO3)3·9H2O": (2, 0.98)}, "CH4N2O", 14 / 6,
     "nitrate 30, acetate 4 × 4 + 6 − 4 × 2 + 2 = 16 counts as fuel: (30 − 16) / 6"),
]


def sheets():
    for name, target, product, salts, fuel, per_target, note in SHEETS:
        if product is None:
            n = 20.0 / molar_mass("Al(NO3)3·9H2O") / 2
        else:
            n = product / molar_mass(target)
        print("[[sheet]]")
        print(f'name = "{name}"')
        print(f'target = "{target}"')
        print(f"product_g = {n * molar_mass(target):.7g}")
        print(f'note = "{note}"')
        print("salts = [")
        for salt, (per, assay) in salts.items():
            print(f'  ["{salt}", {assay}, {n * per * molar_mass(salt) / assay:.7g}],')
        print("]")
        print(f'fuel = ["{fuel}", {n * per_target * molar_mass(fuel):.7g}]')
        print()


def propagation():
    """Two salts, a dopant and two fuels; masses normal, assays and crystal water even."""
    even = lambda value, half: ufloat(value, half / sqrt(3))
    water = molar_mass("H2O")
    rows = [
        # formula without water, water, half range of water, mass g, u(mass) g, assay, half band, valence
        ("Sr(NO3)2", 0.0, 0.0, 2.1500, 0.0011, 0.985, 0.005, -10),
        ("Al(NO3)3", 9.0, 0.25, 7.4000, 0.0060, 0.980, 0.010, -15),
        ("Eu(NO3)3", 5.5, 0.50, 0.0450, 0.00012, 0.999, 0.001, -15),
        ("CH4N2O", 0.0, 0.0, 3.9000, 0.0060, 0.990, 0.005, 6),
        ("C2H5NO2", 0.0, 0.0, 0.5000, 0.0060, 0.985, 0.005, 9),
    ]
    amounts, reducing, oxidising = {}, 0, 0
    for dry, x, half, m, u, a, band, valence in rows:
        molar = molar_mass(dry) + even(x, half) * water if half else molar_mass(dry) + x * water
        n = ufloat(m, u) * even(a, band) / molar
        amounts[dry] = n
        if valence > 0:
            reducing += n * valence
        else:
            oxidising -= n * valence
    phi = reducing / oxidising
    metals = [amounts[k] for k in ("Sr(NO3)2", "Al(NO3)3", "Eu(NO3)3")]
    total = sum(metals)
    oxygen = weight("O")
    product = (metals[0] * (weight("Sr") + oxygen) + metals[1] * (weight("Al") + 1.5 * oxygen)
               + metals[2] * (weight("Eu") + 1.5 * oxygen))
    print("[propagation]")
    print("# formula, water (nominal), half range of water, mass g, u(mass) g, assay, half band")
    print("portions = [")
    for row in rows:
        print(f'  ["{row[0]}", {", ".join(str(v) for v in row[1:7])}],')
    print("]")
    for key, value in [("equivalence_ratio", phi), ("strontium_share", metals[0] / total),
                       ("aluminium_share", metals[1] / total),
                       ("europium_share", metals[2] / total), ("product_g", product)]:
        print(f"{key} = [{value.nominal_value:.8g}, {value.std_dev:.6g}]")


print("# Written by weigh.py with the libraries chemicals and uncertainties; not by this project.")
print()
sheets()
propagation()
