"""Writes minimiser.toml: equilibria of random mixtures from an independent minimiser.

It shares nothing with the program but the files under tables/species: it reads them on its own
and solves the dual problem (maximise b.pi under the constraints that no phase is supersaturated)
by sequential quadratic programming (scipy's SLSQP), started from a linear programme (HiGHS). The
phases are those whose constraint is active and whose amount in a non-negative least-squares fit
of the element balance is positive; amounts and potentials are then polished on the optimality
conditions by MINPACK's Levenberg-Marquardt. A case is stored only if it meets the conditions to
1e-9, no phase is supersaturated and primal and dual G agree to 1e-10; how many were left out is
written down.

Needs numpy and scipy. Run: python minimiser.py > minimiser.toml
With the argument "spinel" it times the problem of benches/equilibrium.rs instead.
"""

import pathlib
import re
import sys
import time
import tomllib

import numpy as np
from scipy.optimize import linprog, minimize, nnls, root

R = 8.31446261815324
R_FIT = 8.314510
T0 = 298.15
OVERLAP, COLDEST, HOTTEST = 50.0, 200.0, 6000.0
TABLES = pathlib.Path(__file__).parents[2] / "tables" / "species"


class Piece:
    """Cp in one range as {power: coefficient}, with H and S by quadrature in closed form."""

    def __init__(self, low, high, powers):
        self.low, self.high, self.powers = low, high, powers
        self.h0 = self.s0 = 0.0

    def cp(self, t):
        return sum(c * t**k for k, c in self.powers.items())

    def h(self, t):
        total = self.h0
        for k, c in self.powers.items():
            total += c * np.log(t) if k == -1 else c * t ** (k + 1) / (k + 1)
        return total

    def s(self, t):
        total = self.s0
        for k, c in self.powers.items():
            total += c * np.log(t) if k == 0 else c * t**k / k
        return total


class Pieces:
    def __init__(self, pieces):
        self.pieces = pieces
        self.low, self.high = pieces[0].low, pieces[-1].high

    def at(self, t):
        inside = min(max(t, self.low), self.high)
        piece = next((p for p in self.pieces[:-1] if inside < p.high), self.pieces[-1])
        cp = piece.cp(inside)
        return piece.h(inside) + cp * (t - inside), piece.s(inside) + cp * np.log(t / inside), cp


class Sum:
    """Kopp-Neumann: the components plus a constant heat capacity, anchored at 298.15 K."""

    def __init__(self, parts, plus, h, s):
        self.parts, self.plus, self.dh, self.ds = parts, plus, 0.0, 0.0
        self.low = max(curve.low for _, curve in parts)
        have = self.at(T0)
        self.dh, self.ds = h - have[0], s - have[1]

    def at(self, t):
        rows = np.array([n * np.array(curve.at(t)) for n, curve in self.parts]).sum(axis=0)
        return (
            rows[0] + self.plus * t + self.dh,
            rows[1] + self.plus * np.log(t) + self.ds,
            rows[2] + self.plus,
        )


def read_pieces(raw, state):
    pieces = []
    for part in raw:
        c = part["c"]
        if part["form"] == "nine_term":
            piece = Piece(part["from"], part["to"], {k - 2: R_FIT * c[k] for k in range(7)})
            piece.h0, piece.s0 = R_FIT * c[7], R_FIT * c[8]
        else:
            piece = Piece(part["from"], part["to"], dict(zip([0, 1, -2, -0.5, 2], c)))
            t, h, s = state
            piece.h0, piece.s0 = h - piece.h(t), s - piece.s(t)
        state = (part["to"], piece.h(part["to"]), piece.s(part["to"]))
        pieces.append(piece)
    return Pieces(pieces)


def atoms_of(formula):
    def group(text):
        out = {}
        i = 0
        while i < len(text):
            if text[i] == "(":
                depth, j = 1, i + 1
                while depth:
                    depth += (text[j] == "(") - (text[j] == ")")
                    j += 1
                inner = group(text[i + 1 : j - 1])
                number = re.match(r"[\d.]*", text[j:]).group()
                for e, n in inner.items():
                    out[e] = out.get(e, 0) + n * float(number or 1)
                i = j + len(number)
            else:
                match = re.match(r"([A-Z][a-z]?)([\d.]*)", text[i:])
                out[match[1]] = out.get(match[1], 0) + float(match[2] or 1)
                i += len(match[0])
        return out

    return group(formula)


class Species:
    pass


def read_tables():
    raw = {}
    for path in sorted(TABLES.glob("*.toml")):
        for row in tomllib.loads(path.read_text(encoding="utf8")).get("species", []):
            raw[row["id"]] = row
    done = {}

    def resolve(name):
        if name in done:
            return done[name]
        row = raw[name]
        species = Species()
        species.id, species.gas = name, row["phase"] == "g"
        species.atoms = atoms_of(row["formula"])
        parts = [(n, resolve(other)) for other, n in row.get("components", {}).items()]
        h = s = None
        if "formation_enthalpy" in row:
            h = 1e3 * row["formation_enthalpy"]["value"]
        elif "enthalpy_from_components" in row:
            h = 1e3 * row["enthalpy_from_components"]["value"] + sum(n * p.h for n, p in parts)
        if "entropy" in row:
            s = row["entropy"]["value"]
        elif h is not None and parts:
            s = row.get("entropy_from_components", {}).get("value", 0.0)
            s += sum(n * p.s for n, p in parts)
        species.h, species.s = h, s
        if "melt_of" in row:
            t = row["melting_point"]["value"]
            fusion = 1e3 * row["fusion_enthalpy"]["value"]
            below = resolve(row["melt_of"]).curve.at(t)
            state = (t, below[0] + fusion, below[1] + fusion / t)
            cp = row.get("cp") or [
                {"from": t, "to": t + 300, "form": "six_term", "c": [below[2], 0, 0, 0, 0]}
            ]
            species.curve = read_pieces(cp, state)
        elif "cp" in row:
            species.curve = read_pieces(row["cp"], (T0, h, s))
        else:
            parts = [(n, p.curve) for n, p in parts]
            species.curve = Sum(parts, row.get("cp_plus", 0.0), h, s)
        high = row["next"]["at_k"] + OVERLAP if "next" in row else HOTTEST
        low = row.get("usable_from_k", species.curve.low)
        species.low = low - OVERLAP if low > T0 else COLDEST
        species.high = row.get("usable_to_k", high)
        done[name] = species
        return species

    # forms that exist in a solid solution only are no phases by themselves
    solutions = tomllib.loads((TABLES.parent / "solutions.toml").read_text(encoding="utf8"))["solution"]
    guests = {name for row in solutions for name in row.get("guests", [])}
    return [resolve(name) for name in raw if name not in guests]


def solve(a, b, g, gas):
    """Returns (G/RT, amounts) or None. a: elements x species, scaled so that sum(b) = 1."""
    lp = linprog(g + np.where(gas, -3.0, 0.0), A_eq=a, b_eq=b, method="highs")
    if not lp.success:
        return None
    start = lp.eqlin.marginals
    # Unknown are the potentials of independent species near the answer, not of bare elements.
    order = np.lexsort((lp.lower.marginals, -lp.x))
    basis = []
    for j in order:
        if np.linalg.matrix_rank(a[:, basis + [j]]) > len(basis):
            basis.append(j)
    to_elements = np.linalg.inv(a[:, basis].T)
    a_gas, g_gas, a_pure, g_pure = a[:, gas], g[gas], a[:, ~gas], g[~gas]
    c_gas, c_pure, slope = to_elements.T @ a_gas, to_elements.T @ a_pure, to_elements.T @ b
    excess, slack = g_gas - a_gas.T @ start, g_pure - a_pure.T @ start

    def gas_constraint(z):
        e = c_gas.T @ z - excess
        top = e.max()
        return -(top + np.log(np.exp(e - top).sum()))

    def gas_slope(z):
        e = c_gas.T @ z - excess
        x = np.exp(e - e.max())
        return -(c_gas @ (x / x.sum()))

    constraints = [{"type": "ineq", "fun": gas_constraint, "jac": gas_slope}]
    if a_pure.shape[1]:
        constraints.append(
            {"type": "ineq", "fun": lambda z: slack - c_pure.T @ z, "jac": lambda z: -c_pure.T}
        )
    z = np.zeros(len(b))
    for _ in range(8):
        answer = minimize(
            lambda z: -(slope @ z), z, jac=lambda z: -slope, constraints=constraints,
            method="SLSQP", options={"ftol": 1e-17, "maxiter": 500},
        )
        if not np.all(np.isfinite(answer.x)):
            return None
        moved = np.abs(answer.x - z).max()
        z = answer.x
        if moved < 1e-11:
            break
    active = np.flatnonzero(slack - c_pure.T @ z < 1e-6)
    m, weight = len(b), 1.0 / b

    def fractions(z):
        return np.exp(c_gas.T @ z - excess)

    def conditions(u):
        z, size, pure = u[:m], u[m], u[m + 1 :]
        x = fractions(z)
        balance = size * (a_gas @ x) + a_pure[:, active] @ pure - b
        return np.concatenate(
            [balance * weight, [np.log(x.sum())], slack[active] - c_pure[:, active].T @ z]
        )

    x = fractions(z)
    columns = np.column_stack([a_gas @ (x / x.sum()), a_pure[:, active]])
    amount, _ = nnls(columns * weight[:, None], b * weight, maxiter=1000)
    active = active[amount[1:] > 0.0]
    amount = np.concatenate([amount[:1], amount[1:][amount[1:] > 0.0]])
    polished = root(conditions, np.concatenate([z, amount]), method="lm", tol=1e-15)
    z, amount = polished.x[:m], polished.x[m:]
    miss = np.abs(conditions(polished.x)).max()
    supersaturated = (c_pure.T @ z - slack).max(initial=-1.0)
    if miss > 1e-9 or amount.min() < 0.0 or supersaturated > 1e-9:
        return None
    pi, x = start + to_elements @ z, fractions(z)
    n = np.zeros(len(g))
    n[gas] = amount[0] * x / x.sum()
    pure = np.zeros(a_pure.shape[1])
    pure[active] = amount[1:]
    n[~gas] = pure
    present = gas & (n > 1e-300)
    primal = n @ g + (n[present] * np.log(n[present] / n[gas].sum())).sum()
    dual = b @ pi
    if abs(primal - dual) > 1e-10 * abs(dual):
        return None
    return dual, n, miss


def mixture(random, metals):
    b = {"C": 0.0, "H": 0.0, "N": 0.0, "O": 0.0}
    nitrate = 0.0
    for metal in metals:
        amount, charge = 10 ** random.uniform(-2, 0), random.integers(1, 4)
        b[metal] = amount
        nitrate += amount * charge
    b["N"] += nitrate
    b["O"] += 3 * nitrate
    fuel, valence = [((1, 4, 2, 1), 6), ((2, 5, 1, 2), 9), ((6, 8, 0, 7), 18)][random.integers(3)]
    moles = 10 ** random.uniform(np.log10(0.3), np.log10(5)) * 5 * nitrate / valence
    for element, n in zip("CHNO", fuel):
        b[element] += n * moles
    if random.random() < 0.5:
        water = nitrate * random.uniform(0, 8)
        b["H"] += 2 * water
        b["O"] += water
    return b


def main():
    species = read_tables()
    random = np.random.default_rng(20261125)
    oxides = [s for s in species if not s.gas and set(s.atoms) - {"O"} and "O" in s.atoms]
    metals = sorted({e for s in oxides if len(s.atoms) == 2 for e in s.atoms} - set("CHNO"))
    cases, left_out, seconds = [], 0, 0.0
    while len(cases) < 200:
        chosen = list(random.choice(metals, size=random.integers(1, 4), replace=False))
        b = {e: float(f"{n:.12g}") for e, n in mixture(random, chosen).items() if n > 0}
        t = round(random.uniform(600, 3200), 3)
        p = round(10 ** random.uniform(-1, 1), 4)
        elements = sorted(b)
        here = [
            s for s in species if set(s.atoms) <= set(elements) and s.low <= t <= s.high
        ]
        g = []
        for s in here:
            h, entropy, _ = s.curve.at(t)
            g.append((h - t * entropy) / (R * t) + (np.log(p) if s.gas else 0.0))
        a = np.array([[s.atoms.get(e, 0.0) for s in here] for e in elements])
        total = sum(b.values())
        began = time.perf_counter()
        answer = solve(
            a, np.array([b[e] for e in elements]) / total, np.array(g),
            np.array([s.gas for s in here]),
        )
        seconds += time.perf_counter() - began
        if answer is None:
            left_out += 1
            continue
        cases.append((elements, b, t, p, here, answer, total))
    print("# Written by minimiser.py; see there for the method. The species and their G come from")
    print("# tables/species; a case whose sum of G over the species (data_fingerprint_j) no longer")
    print("# agrees is passed over by the test, so write this file anew when the tables change.")
    print(f"left_out = {left_out}")
    print(f"milliseconds_per_case = {1e3 * seconds / (len(cases) + left_out):.2f}")
    for elements, b, t, p, here, (g, n, miss), total in cases:
        gas = sum(x for x, s in zip(n, here) if s.gas)
        print("\n[[case]]")
        print(f"temperature_k = {t}\npressure_bar = {p}\nspecies = {len(here)}")
        sizes = [h - t * entropy for h, entropy, _ in (s.curve.at(t) for s in here)]
        print(f"data_fingerprint_j = {float(sum(sizes))!r}")
        print("elements = {", ", ".join(f"{e} = {b[e]}" for e in elements), "}")
        print(f"gibbs_energy_j = {float(g * total * R * t)!r}")
        print(f"balance_miss = {miss:.1e}")
        phases = [(s.id, x * total) for s, x in zip(here, n) if not s.gas and x > 1e-9]
        print("condensed = {", ", ".join(f'"{i}" = {float(x)!r}' for i, x in phases), "}")
        major = [(s.id, x * total) for s, x in zip(here, n) if s.gas and x > 1e-3 * gas]
        print("gas = {", ", ".join(f'"{i}" = {float(x)!r}' for i, x in major), "}")
    print(f"left out {left_out}", file=sys.stderr)


def spinel():
    """Milliseconds for the dried zinc aluminate and urea batch at 1500 K, data already read."""
    species = read_tables()
    urea = 20.0 / 3.0
    b = {"Zn": 1.0, "Al": 2.0, "C": urea, "H": 4 * urea, "N": 8 + 2 * urea, "O": 24 + urea}
    t = 1500.0
    here = [s for s in species if set(s.atoms) <= set(b) and s.low <= t <= s.high]
    g = [(h - t * s) / (R * t) for h, s, _ in (x.curve.at(t) for x in here)]
    a = np.array([[s.atoms.get(e, 0.0) for s in here] for e in b])
    amounts = np.array(list(b.values())) / sum(b.values())
    best = np.inf
    for _ in range(20):
        began = time.perf_counter()
        solve(a, amounts, np.array(g), np.array([s.gas for s in here]))
        best = min(best, time.perf_counter() - began)
    print(f"{1e3 * best:.3f}")


if __name__ == "__main__":
    spinel() if sys.argv[1:] == ["spinel"] else main()
