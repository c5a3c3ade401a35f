"""Writes janaf_constants.toml: equilibrium constants from the log Kf of the NIST-JANAF tables.

Needs the Python package `janaf` (it carries the tables of NIST Standard Reference Database 13).
Run: python janaf_constants.py > janaf_constants.toml
"""

import janaf

# name: ({species: stoichiometric number}, temperatures in K). Elements have log Kf = 0.
REACTIONS = {
    "CO + H2O = CO2 + H2": (
        {"CO": -1, "H2O": -1, "CO2": 1},
        [600, 800, 1000, 1200, 1500, 2000, 2500],
    ),
    "C + CO2 = 2 CO": ({"CO2": -1, "CO": 2}, [700, 800, 900, 1000, 1100, 1300]),
    "N2 + O2 = 2 NO": ({"NO": 2}, [1000, 1500, 2000, 2500, 3000, 3500]),
    "CO2 = CO + 1/2 O2": ({"CO2": -1, "CO": 1}, [1200, 1500, 2000, 2500, 3000, 3500]),
    "H2O = H2 + 1/2 O2": ({"H2O": -1}, [1200, 1500, 2000, 2500, 3000, 3500]),
    "1/2 N2 + 3/2 H2 = NH3": ({"NH3": 1}, [400, 500, 600, 700, 800, 1000]),
    "N2O4 = 2 NO2": ({"N2O4": -1, "NO2": 2}, [300, 350, 400, 500, 600]),
}
SPECIES = ["CO", "H2O", "CO2", "NO", "NH3", "N2O4", "NO2"]
# As the package spells them, where that differs.
FORMULAS = {"NH3": "H3N"}


def log_kf(species):
    table = janaf.search(formula=f"{FORMULAS.get(species, species)}$", phase="^g$").df
    rows = zip(table["T(K)"].to_list(), table["log Kf"].to_list(), table["delta-f H"].to_list())
    rows = list(rows)
    enthalpy = next(h for t, _, h in rows if t == 298.15)
    return {t: k for t, k, _ in rows}, enthalpy


def main():
    kf = {species: log_kf(species) for species in SPECIES}
    print("# Written by janaf_constants.py. log10 K for pressures in bar, from log Kf of")
    print("# M. W. Chase, NIST-JANAF Thermochemical Tables, 4th ed., J. Phys. Chem. Ref. Data,")
    print("# Monograph 9, 1998 (document: the tables as carried by the Python package `janaf`).")
    for name, (numbers, temperatures) in REACTIONS.items():
        print("\n[[reaction]]")
        print(f'equation = "{name}"')
        print(f"temperature_k = {[float(t) for t in temperatures]}")
        values = [round(sum(n * kf[s][0][t] for s, n in numbers.items()), 4) for t in temperatures]
        print(f"log10_k = {values}")
        enthalpy = sum(n * kf[s][1] for s, n in numbers.items())
        print(f"reaction_enthalpy_298_kj = {round(enthalpy, 3)}")


main()
