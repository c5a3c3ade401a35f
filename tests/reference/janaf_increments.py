"""Writes janaf_increments.toml: enthalpy increments H(T) - H(298.15 K) from the NIST-JANAF tables.

Needs the Python package janaf (tables of the 4th edition, Chase 1998). Run it in this folder:
    python janaf_increments.py > janaf_increments.toml
Rows at temperatures where a table marks a transition are left out, since two values stand there.
"""
import json
from importlib import resources

# Name of the compound in our tables, index of the table, temperatures. (cr,l) tables run over the
# transitions and the melting point.
WANTED = [
    ("Al2O3", "aluminium oxide, crystal and melt", "Al2O3, Aluminum Oxide (cr,l)", [600, 1000, 1500, 2000, 2300, 2400, 2700, 3000]),
    ("MgO", "magnesium oxide", "MgO, Magnesium Oxide (cr,l)", [600, 1000, 1500, 2000, 2500, 3000]),
    ("CaO", "calcium oxide", "CaO, Calcium Oxide (cr,l)", [600, 1000, 1500, 2000, 2500]),
    ("SrO", "strontium oxide", "OSr, Strontium Oxide (cr,l)", [600, 1000, 1500, 2000]),
    ("BaO", "barium oxide", "BaO, Barium Oxide (cr,l)", [600, 1000, 1500, 2000]),
    ("TiO2", "rutile, crystal and melt", "O2Ti, Titanium Oxide (cr,l)", [600, 1000, 1500, 2000, 2500]),
    ("ZrO2", "zirconium dioxide", "O2Zr, Zirconium Oxide (cr,l)", [600, 1000, 1400, 2000, 2500]),
    ("Cr2O3", "chromium oxide", "Cr2O3, Chromium Oxide (cr,l)", [600, 1000, 1500, 2000, 2500]),
    ("Fe2O3", "hematite", "Fe2O3, Iron Oxide, Hematite (cr)", [600, 900, 1200, 1500]),
    ("Fe3O4", "magnetite", "Fe3O4, Iron Oxide, Magnetite (cr)", [600, 800, 1000, 1500]),
    ("B2O3", "boron oxide, crystal and melt", "B2O3, Boron Oxide (cr,l)", [500, 700, 800, 1200, 2000]),
    ("MgAl2O4", "spinel, crystal and melt", "Al2MgO4, Magnesium Aluminum Oxide (cr,l)", [600, 1000, 1500, 2000, 2600]),
    ("Mg2SiO4", "forsterite", "Mg2O4Si, Magnesium Silicate (cr,l)", [600, 1000, 1500, 2000]),
    ("Fe", "iron, crystal and melt", "Fe, Iron (cr,l)", [600, 1000, 1500, 1700, 2000]),
    ("Co", "cobalt, crystal and melt", "Co, Cobalt (cr,l)", [600, 1000, 1500, 2000]),
    ("Ni", "nickel, crystal and melt", "Ni, Nickel (cr,l)", [600, 1000, 1500, 2000]),
    ("Cu", "copper, crystal and melt", "Cu, Copper (cr,l)", [600, 1000, 1300, 1600]),
    ("CuO", "copper(II) oxide", "CuO, Copper Oxide (cr)", [600, 1000, 1300]),
    ("Li2O", "lithium oxide", "Li2O, Lithium Oxide (cr,l)", [600, 1000, 1500]),
    ("Na2CO3", "sodium carbonate", "CNaO3, Sodium Carbonate (cr,l)", [400, 600, 1000, 1500]),
    ("V2O5", "vanadium oxide, crystal and melt", "O5V2, Vanadium Oxide (cr,l)", [600, 900, 1200]),
    ("MoO3", "molybdenum oxide, crystal and melt", "MoO3, Molybdenum Oxide (cr,l)", [600, 1000, 1300]),
    ("WO3", "tungsten oxide", "O3W, Tungsten Oxide (cr,l)", [600, 1000, 1500, 1900]),
    ("PbO", "lead oxide", "OPb, Lead Oxide (cr,l)", [600, 1000, 1400]),
    ("CO2", "carbon dioxide", "CO2, Carbon Dioxide (g)", [600, 1000, 1500, 2000, 3000]),
    ("CO", "carbon monoxide", "CO, Carbon Monoxide (g)", [600, 1000, 1500, 2000, 3000]),
    ("H2O", "steam", "H2O, Water (g)", [600, 1000, 1500, 2000, 3000]),
    ("N2", "nitrogen", "N2, Nitrogen (ref)", [600, 1000, 1500, 2000, 3000]),
    ("O2", "oxygen", "O2, Oxygen (ref)", [600, 1000, 1500, 2000, 3000]),
    ("H2", "hydrogen", "H2, Hydrogen (ref)", [600, 1000, 1500, 2000, 3000]),
    ("NO", "nitrogen monoxide", "NO, Nitrogen Oxide (g)", [600, 1000, 2000, 3000]),
    ("NO2", "nitrogen dioxide", "NO2, Nitrogen Oxide (g)", [600, 1000, 2000]),
    ("NH3", "ammonia", "H3N, Ammonia (g)", [600, 1000, 2000]),
    ("CH4", "methane", "CH4, Methane (g)", [600, 1000, 2000]),
]

# Species whose heat capacity we fitted to a table ourselves: the fit has to give the table back.
FITTED = [
    ("Al2O3(cr,delta)", "Al-097", [600, 1000, 1500, 2000]),
    ("Al2O3(cr,gamma)", "Al-098", [600, 1000, 1500, 2000]),
    ("Al2O3(cr,kappa)", "Al-099", [600, 1000, 1500, 2000]),
    ("TiO2(cr,anatase)", "O-042", [600, 1000, 1500, 2000]),
    ("Al2SiO5(cr,kyanite)", "Al-103", [600, 1000, 1500, 2000]),
    ("Al2SiO5(cr,sillimanite)", "Al-104", [600, 1000, 1500, 2000]),
    ("Al6Si2O13(cr)", "Al-112", [600, 1000, 1500, 2000]),
    ("Li2B4O7(cr)", "B-118", [600, 900, 1100]),
    ("Na2B4O7(cr)", "B-122", [600, 900, 1000]),
    ("H2O(l)", "H-063", [320, 360, 420, 480]),
    ("CoO(cr)", "Co-013", [600, 1000, 1500, 2000]),
    ("Li2TiO3(cr,alpha)", "Li-023", [600, 1000, 1400]),
    ("P4O10(cr)", "O-094", [600, 1000, 1500]),
    ("P4O10", "O-095", [600, 1000, 2000, 4000]),
    ("PO", "O-004", [600, 1000, 2000, 4000]),
    ("PO2", "O-032", [600, 1000, 2000, 4000]),
    ("P2", "P-012", [600, 1000, 2000, 4000]),
    ("P4", "P-013", [600, 1000, 2000, 4000]),
    ("PH3", "H-088", [600, 1000, 2000]),
    ("Mg3(PO4)2(cr)", "Mg-038", [600, 1000, 1500]),
    ("MgSO4(cr)", "Mg-018", [600, 1000, 1300]),
    ("ZnSO4(cr,I)", "O-071", [400, 500]),
    ("CuSO4(cr)", "Cu-017", [600, 1000]),
    ("CoSO4(cr)", "Co-014", [600, 900]),
    ("FeSO4(cr)", "Fe-022", [600, 900]),
    ("Fe2(SO4)3(cr)", "Fe-031", [600, 900]),
    ("K2SO4(cr,alpha)", "K-017", [600, 800]),
    ("K2SO4(cr,beta)", "K-018", [1000, 1300]),
    ("Na2SO4(cr,V)", "Na-023", [400]),
    ("Na2SO4(cr,I)", "Na-020", [600, 1000, 1100]),
    ("Li2SO4(cr,alpha)", "Li-026", [600, 800]),
]


def index_of(wanted, listing):
    found = [i for i, name in zip(listing["index"], listing["display"]) if name == wanted]
    if len(found) != 1:
        words = wanted.split(", ", 1)[-1].split(" (")[0]
        raise SystemExit(f"{wanted}: {[n for n in listing['display'] if words in n]}")
    return found[0]


def rows(index):
    text = resources.files("janaf").joinpath(f"data/{index}.txt").read_text("utf-8")
    seen = {}
    for line in text.split("\n")[2:]:
        cells = line.split("\t")
        try:
            temperature, increment = float(cells[0]), float(cells[4])
        except (ValueError, IndexError):
            continue
        seen.setdefault(temperature, []).append(increment)
    return {t: v[0] for t, v in seen.items() if len(v) == 1}


def main():
    listing = json.loads(resources.files("janaf").joinpath("janaf.json").read_text("utf-8"))
    print("# Written by janaf_increments.py from the NIST-JANAF tables (Chase 1998).")
    print('source = "chase-1998"')
    print('units = { temperature = "K", increment = "kJ/mol" }')
    for formula, name, display, temperatures in WANTED:
        index = index_of(display, listing)
        table = rows(index)
        phase = "g" if "(g)" in display or formula in ("N2", "O2", "H2") else "condensed"
        points = ", ".join(f"[{t}, {table[t]}]" for t in temperatures if t in table)
        print(f'\n[[substance]]\nformula = "{formula}"\nname = "{name}"\nphase = "{phase}"\ntable = "{index}"')
        print(f"points = [{points}]")
    for species, index, temperatures in FITTED:
        table = rows(index)
        points = ", ".join(f"[{t}, {table[t]}]" for t in temperatures if t in table)
        print(f'\n[[fitted]]\nspecies = "{species}"\ntable = "{index}"\npoints = [{points}]')


main()
