"""Pure fluids: equation of state, saturation line, transport coefficients and stored check values.

Imported by `fluids.py`. Everything is brought to a mass basis and SI units, so that the program scales nothing.
"""

import json
import math

import CoolProp
import CoolProp.CoolProp as cp
import numpy as np

VERSION = CoolProp.__version__
AVOGADRO = 6.02214129e23

# name shown, name in the library, lowest temperature of the checks
FLUIDS = [
    ("water", "Water"),
    ("nitrogen", "Nitrogen"),
    ("oxygen", "Oxygen"),
    ("argon", "Argon"),
    ("air", "Air"),
    ("carbon dioxide", "CarbonDioxide"),
    ("ammonia", "Ammonia"),
    ("methane", "Methane"),
    ("ethane", "Ethane"),
    ("propane", "n-Propane"),
    ("butane", "n-Butane"),
    ("isobutane", "IsoButane"),
    ("pentane", "n-Pentane"),
    ("hexane", "n-Hexane"),
    ("heptane", "n-Heptane"),
    ("octane", "n-Octane"),
    ("nonane", "n-Nonane"),
    ("decane", "n-Decane"),
    ("dodecane", "n-Dodecane"),
    ("propylene", "Propylene"),
    ("hydrogen", "Hydrogen"),
    ("helium", "Helium"),
    ("methanol", "Methanol"),
    ("ethanol", "Ethanol"),
    ("benzene", "Benzene"),
    ("toluene", "Toluene"),
    ("R134a", "R134a"),
]

KEYS = {
    "Wagner-JPCRD-2002": "wagner-pruss-2002",
    "Huber-JPCRD-2009": "huber-2009",
    "Huber-JPCRD-2012": "huber-2012",
    "Gao-JPCRD-2020": "gao-2020",
    "Span-JPCRD-2000": "span-2000-nitrogen",
    "Schmidt-FPE-1985,Stewart-JPCRD-1991": "schmidt-1985",
    "Buecker-JPCRD-2006": "buecker-2006",
    "Buecker-JPCRD-2006B": "buecker-2006-butanes",
    "Huber-FPE-2004": "huber-2004",
    "Huber-EF-2004": "huber-2004-dodecane",
    "Lemmon-JCED-2006": "lemmon-span-2006",
    "Lemmon-EF-2004": "lemmon-huber-2004",
    "Lemmon-PROPYLENE-2013": "lemmon-2013-propylene",
    "QuinonesCisneros-JPCB-2006": "quinones-cisneros-2006",
    "Perkins-JCED-2002-nButane": "perkins-2002-butane",
    "TillnerRoth-JPCRD-1994": "tillner-roth-1994",
    "OrtizVega-JPCRD-2019": "ortiz-vega-2019",
    "Span-IJT-2003B": "span-wagner-2003",
    "Lemmon-IJT-2004": "lemmon-jacobsen-2004",
    "Vassiliou-JPCRD-2015-pentanes": "vassiliou-2015",
    "Thol-FPE-2019-alkanes-pentane": "thol-2019",
    "Thol-FPE-2019-alkanes-hexane": "thol-2019",
}


def key(bibtex):
    """`Vogel-JPCRD-1998` becomes `vogel-1998`; where that would be ambiguous the table above decides."""
    if bibtex in KEYS:
        return KEYS[bibtex]
    parts = bibtex.split("-")
    return "-".join([parts[0], parts[2], *parts[3:]]).lower()


def number(x):
    return repr(float(x))


def row(values):
    return "[" + ", ".join(number(v) for v in values) + "]"


def rows(name, table):
    if not table:
        return f"{name} = []\n"
    return f"{name} = [\n" + "".join(f"  {row(r)},\n" for r in table) + "]\n"


def trimmed(coefficients):
    """Fifteen digits of the largest coefficient and as many decimals of the others; what is below is dropped."""
    place = 15 - math.ceil(math.log10(max(abs(c) for c in coefficients)))
    out = [round(float(c), place) for c in coefficients]
    while len(out) > 1 and out[-1] == 0.0:
        out.pop()
    return out


# ---------------------------------------------------------------- the equation of state

def ideal_part(eos, oracle_name, reducing_temperature):
    """All ideal-gas forms brought to five; the two linear constants from the library's own value and slope."""
    log_tau, power, planck, general = 0.0, [], [], []
    for term in eos["alpha0"]:
        kind = term["type"].removeprefix("IdealGasHelmholtz")
        if kind in ("Lead", "EnthalpyEntropyOffset"):
            pass
        elif kind == "LogTau":
            log_tau += term["a"]
        elif kind == "Power":
            power += [[n, t] for n, t in zip(term["n"], term["t"]) if t not in (0, 1)]
        elif kind == "PlanckEinstein":
            planck += [list(r) for r in zip(term["n"], term["t"])]
        elif kind == "PlanckEinsteinFunctionT":
            planck += [[n, v / term["Tcrit"]] for n, v in zip(term["n"], term["v"])]
        elif kind == "PlanckEinsteinGeneralized":
            # n ln(c + d exp(t tau)) = n t tau + n ln(d) + n ln(1 + c/d exp(-t tau))
            general += [[n, t, c / d] for n, t, c, d in zip(term["n"], term["t"], term["c"], term["d"])]
        elif kind == "CP0PolyT" and term["t"] == [0.0]:
            log_tau += term["c"][0]
        elif kind == "CP0AlyLee":
            a, b, c, d, e = term["c"]
            log_tau += a
            if b:
                planck.append([b, 2 * c / term["Tc"]])
            if d:
                general.append([-d, 2 * e / term["Tc"], 1.0])
        else:
            raise SystemExit(f"{oracle_name}: ideal-gas form {kind} is not carried over")

    def without_lead(tau):
        value = log_tau * math.log(tau) + sum(n * tau**t for n, t in power)
        value += sum(n * math.log(-math.expm1(-t * tau)) for n, t in planck)
        return value + sum(n * math.log1p(c * math.exp(-t * tau)) for n, t, c in general)

    state = cp.AbstractState("HEOS", oracle_name)
    state.specify_phase(cp.iphase_gas)
    molar = eos["STATES"]["reducing"]["rhomolar"]

    def library(tau):
        state.update(cp.DmolarT_INPUTS, 1e-3 * molar, reducing_temperature / tau)
        return state.alpha0() - math.log(1e-3)

    taus = [0.7, 1.0, 1.6]
    gap = [library(tau) - without_lead(tau) for tau in taus]
    slope = (gap[2] - gap[0]) / (taus[2] - taus[0])
    lead = [gap[1] - slope * taus[1], slope]
    assert abs(lead[0] + slope * taus[0] - gap[0]) < 1e-9, f"{oracle_name}: ideal part differs from the library's"
    return (
        "\n[ideal]\n# alpha0 = ln delta + lead[0] + lead[1] tau + log_tau ln tau + sum n tau^t + sum n ln(1 - exp(-t tau))\n"
        "#          + sum n ln(1 + c exp(-t tau))\n"
        f"lead = {row(lead)}\nlog_tau = {number(log_tau)}\n"
        + rows("power", power) + rows("planck_einstein", planck) + (rows("planck_einstein_general", general) if general else "")
    )


def residual_part(eos, oracle_name):
    table = {"power": [], "gaussian": [], "gao": [], "non_analytic": [], "double_exponential": []}
    columns = {
        "Exponential": ("power", "ntdlg"),
        "Gaussian": ("gaussian", ("n", "t", "d", "eta", "epsilon", "beta", "gamma")),
        "GaoB": ("gao", ("n", "t", "d", "eta", "epsilon", "beta", "gamma", "b")),
        "NonAnalytic": ("non_analytic", ("n", "a", "b", "beta", "A", "B", "C", "D")),
        "DoubleExponential": ("double_exponential", ("n", "t", "d", "gd", "ld", "gt", "lt")),
    }
    for term in eos["alphar"]:
        kind = term["type"].removeprefix("ResidualHelmholtz")
        if kind == "Power":
            table["power"] += [[n, t, d, l, 1.0 if l > 0 else 0.0] for n, t, d, l in zip(*(term[k] for k in "ntdl"))]
        elif kind in columns:
            place, names = columns[kind]
            table[place] += [list(r) for r in zip(*(term[k] for k in names))]
        else:
            raise SystemExit(f"{oracle_name}: residual form {kind} is not carried over")
    out = [
        "\n[residual]\n# power: n, t, d, l, c of n tau^t delta^d exp(-c delta^l)\n",
        rows("power", table["power"]),
        "# gaussian: n, t, d, eta, epsilon, beta, gamma\n",
        rows("gaussian", table["gaussian"]),
        "# gao: n, t, d, eta, epsilon, beta, gamma, b\n",
        rows("gao", table["gao"]),
        "# non_analytic: n, a, b, beta, A, B, C, D\n",
        rows("non_analytic", table["non_analytic"]),
    ]
    if table["double_exponential"]:
        out += ["# double_exponential: n, t, d, k, l, q, m of n tau^t delta^d exp(-k delta^l - q tau^m)\n",
                rows("double_exponential", table["double_exponential"])]
    return "".join(out)


def polished(sup, oracle_name):
    """The expansions made anew on the same pieces from equal pressure and Gibbs energy of the equation, below 0.97 of the
    critical temperature: there the library's leave differences of 1e-7 in the pressure of thin vapours, above none."""
    state = cp.AbstractState("HEOS", oracle_name)
    state.specify_phase(cp.iphase_gas)

    def at(rho, t):
        state.update(cp.DmolarT_INPUTS, rho, t)
        return state.p(), state.first_partial_deriv(cp.iP, cp.iDmolar, cp.iT), state.gibbsmolar()

    names = ("jexpansions_p", "jexpansions_rhoL", "jexpansions_rhoV")
    out = {name: list(sup[name]) for name in names}
    limit = 0.97 * sup["meta"]["Tcrittrue / K"]
    for i, pieces in enumerate(zip(*(sup[name] for name in names))):
        low, high = pieces[0]["xmin"], pieces[0]["xmax"]
        if high > limit:
            continue
        n = max(len(piece["coef"]) for piece in pieces)
        x = np.cos(np.pi * (np.arange(n) + 0.5) / n)
        values = []
        for xi in x:
            t = 0.5 * (low + high) + 0.5 * (high - low) * xi
            _p, liquid, vapour = (np.polynomial.chebyshev.chebval(xi, piece["coef"]) for piece in pieces)
            for _ in range(4):
                (pl, al, gl), (pv, av, gv) = at(liquid, t), at(vapour, t)
                by_vapour = (-(gl - gv) + (pl - pv) / liquid) / (av * (1 / liquid - 1 / vapour))
                liquid += (pv + av * by_vapour - pl) / al
                vapour += by_vapour
            values.append([at(vapour, t)[0], liquid, vapour])
        for name, column in zip(names, np.array(values).T):
            coef = np.polynomial.chebyshev.chebfit(x, column, n - 1)
            out[name][i] = {"xmin": low, "xmax": high, "coef": [float(c) for c in coef]}
    return out


def saturation_part(sup, molar_mass):
    pieces = sup["jexpansions_p"], sup["jexpansions_rhoL"], sup["jexpansions_rhoV"]
    edges = [p["xmin"] for p in pieces[0]] + [pieces[0][-1]["xmax"]]
    for other in pieces[1:]:
        assert [p["xmin"] for p in other] + [other[-1]["xmax"]] == edges, "pieces differ"
    return (
        "\n[saturation]\n# Chebyshev expansions in temperature, piece by piece (superancillary equations).\n"
        'source = "bell-alpert-2021"\n'
        f"edges_k = {row(edges)}\n"
        + rows("pressure_pa", [trimmed(p["coef"]) for p in pieces[0]])
        + rows("liquid_density_kg_per_m3", [trimmed([c * molar_mass for c in p["coef"]]) for p in pieces[1]])
        + rows("vapour_density_kg_per_m3", [trimmed([c * molar_mass for c in p["coef"]]) for p in pieces[2]])
    )


class OwnSaturation:
    """Equal pressure and Gibbs energy of the equation itself, for a pseudo-pure fluid that ships no expansions."""

    DEGREE = 13

    def __init__(self, oracle_name, lowest):
        self.state = cp.AbstractState("HEOS", oracle_name)
        self.state.specify_phase(cp.iphase_gas)
        self.lowest = lowest
        self.critical = self.find_critical()

    def at(self, rho, t):
        """p, dp/drho, Gibbs energy."""
        s = self.state
        s.update(cp.DmolarT_INPUTS, rho, t)
        return s.p(), s.first_partial_deriv(cp.iP, cp.iDmolar, cp.iT), s.gibbsmolar()

    def find_critical(self):
        t, rho = self.state.T_critical(), self.state.rhomolar_critical()
        s = self.state
        for _ in range(100):
            def f(rho, t):
                s.update(cp.DmolarT_INPUTS, rho, t)
                return np.array([s.first_partial_deriv(cp.iP, cp.iDmolar, cp.iT),
                                 rho * s.second_partial_deriv(cp.iP, cp.iDmolar, cp.iT, cp.iDmolar, cp.iT)])
            here = f(rho, t)
            e, g = 1e-5 * rho, 1e-6 * t
            jacobian = np.column_stack([(f(rho + e, t) - f(rho - e, t)) / (2 * e), (f(rho, t + g) - f(rho, t - g)) / (2 * g)])
            step = np.linalg.solve(jacobian, -here)
            rho, t = rho + step[0], t + step[1]
            if abs(step[0]) < 1e-11 * rho and abs(step[1]) < 1e-13 * t:
                break
        return t, rho, self.at(rho, t)[0]

    def spinodal(self, t, side):
        """The density where dp/drho first vanishes, coming from the stable side: between, the equation may turn again."""
        x = self.critical[1] * (3.3 if side > 0 else 1e-6)
        step = 0.998 if side > 0 else 1.01
        if side < 0:
            x = 0.02 * self.critical[1] if t > 0.8 * self.critical[0] else 1e-5 * self.critical[1]
        while self.at(x, t)[1] > 0:
            stable, x = x, x * step
        low, high = x, stable
        for _ in range(100):
            middle = 0.5 * (low + high)
            if self.at(middle, t)[1] < 0:
                low = middle
            else:
                high = middle
        return high

    def solve(self, t, guess=None):
        inner_l, inner_v = self.spinodal(t, 1), self.spinodal(t, -1)

        def density(p, low, high):
            for _ in range(200):
                middle = 0.5 * (low + high)
                if self.at(middle, t)[0] > p:
                    high = middle
                else:
                    low = middle
                if high - low < 1e-15 * high:
                    break
            rho = 0.5 * (low + high)
            for _ in range(3):
                q, slope, _g = self.at(rho, t)
                if slope > 0:
                    rho -= (q - p) / slope
            return rho

        p_high = self.at(inner_v, t)[0]
        p_low = max(self.at(inner_l, t)[0], 1e-9 * p_high)
        p = math.sqrt(p_low * p_high) if p_low < 0.5 * p_high else 0.5 * (p_low + p_high)
        for _ in range(60):
            liquid, vapour = density(p, inner_l, 4 * self.critical[1]), density(p, 1e-12 * inner_v, inner_v)
            gap = self.at(liquid, t)[2] - self.at(vapour, t)[2]
            step = -gap / (1 / liquid - 1 / vapour)
            new = p + step
            if new >= p_high or new <= p_low:
                new = 0.5 * (p + (p_high if step > 0 else p_low))
            if abs(new - p) < 1e-14 * p:
                p = new
                break
            p = new
        return p, liquid, vapour

    def expansions(self):
        """Same shape as the library's expansions: pieces shrink geometrically towards the critical point."""
        t_c, rho_c, p_c = self.critical
        span = t_c - self.lowest
        edges = [self.lowest + span * f for f in np.linspace(0, 0.8, 13)]
        rest = 0.2 * span
        while rest > 2e-5 * t_c:
            edges.append(t_c - rest * 0.6)
            rest *= 0.6
        out = {"p": [], "rhoL": [], "rhoV": []}
        n = self.DEGREE + 1
        x = np.cos(np.pi * (np.arange(n) + 0.5) / n)
        for low, high in zip(edges, edges[1:]):
            values = np.array([self.solve(0.5 * (low + high) + 0.5 * (high - low) * xi) for xi in x])
            for column, name in enumerate(("p", "rhoL", "rhoV")):
                coef = np.polynomial.chebyshev.chebfit(x, values[:, column], self.DEGREE)
                out[name].append({"xmin": float(low), "xmax": float(high), "coef": [float(c) for c in coef]})
        # the last piece runs straight to the critical point; densities go there like a root, and end in its density
        low = edges[-1]
        p, liquid, vapour = self.solve(low)
        for name, a, b in (("p", p, p_c), ("rhoL", liquid, rho_c), ("rhoV", vapour, rho_c)):
            out[name].append({"xmin": float(low), "xmax": float(t_c), "coef": [0.5 * (a + b), 0.5 * (b - a)]})
        return {f"jexpansions_{k}": v for k, v in out.items()}


# ---------------------------------------------------------------- transport

def viscosity_part(v, molar_mass, eos, oracle_name):
    sigma_nm, epsilon = v.get("sigma_eta", 0.0) * 1e9, v.get("epsilon_over_k", 0.0)
    out = [f'\n[transport.viscosity]\nsource = "{key(v["BibTeX"])}"\n']
    if v.get("hardcoded"):
        return "".join(out + [f'\n[transport.viscosity.whole]\nform = "{v["hardcoded"].lower()}"\n'])
    if v.get("type") == "ECS":
        psi = v["psi"]
        factor = 26.692e-9 * math.sqrt(molar_mass * 1000) / sigma_nm**2
        return "".join(out + [
            "\n[transport.viscosity.dilute]\n"
            '# factor sqrt(T) / collision integral of Neufeld, Janzen and Aziz at T/epsilon\nform = "kinetic_theory"\n'
            f"factor = {number(factor)}\nepsilon_k = {number(epsilon)}\n",
            "\n[transport.viscosity.dense]\n"
            "# corresponding_states: residual viscosity of the reference fluid at the conformal state, its density multiplied by\n"
            "# sum a (rho/rho_reducing)^i\n"
            f'form = "corresponding_states"\nreference = "{v["reference_fluid"].lower()}"\n'
            f"reducing_density_kg_per_m3 = {number(psi['rhomolar_reducing'] * molar_mass)}\n"
            f"shape = {row(psi['a'])}\n",
        ])
    dilute = v["dilute"]
    kind = dilute.get("hardcoded") or dilute["type"]
    if kind == "collision_integral":
        factor = dilute["C"] * math.sqrt(dilute["molar_mass"] * 1000) / sigma_nm**2
        text = ("# factor sqrt(T) / exp(sum a ln(T/epsilon)^k)\n"
                f'form = "collision_integral"\nfactor = {number(factor)}\nepsilon_k = {number(epsilon)}\n'
                + rows("terms", zip(dilute["a"], dilute["t"])))
    elif kind in ("powers_of_Tr", "powers_of_T"):
        text = ('# sum a (T/reducing)^t\nform = "powers"\n' f"reducing_k = {number(dilute.get('T_reducing', 1.0))}\n"
                + rows("terms", [r for r in zip(dilute["a"], dilute["t"]) if r[0]]))
    elif kind == "Ethane":
        c = FRIEND_OMEGA
        text = ('# sum a (T/reducing)^t: Friend et al. (1991), equation 10, powers of the reduced temperature collected\n'
                'form = "powers"\nreducing_k = 245.0\n'
                + rows("terms", [(12.0085e-6 * n, i / 3.0 - 0.5) for i, n in enumerate(c)]))
    elif kind == "CarbonDioxideLaeseckeJPCRD2017":
        text = 'form = "carbon_dioxide"\n'
    else:
        raise SystemExit(f"{oracle_name}: dilute viscosity {kind} is not carried over")
    out.append("\n[transport.viscosity.dilute]\n" + text)
    if "initial_density" in v:
        initial = v["initial_density"]
        assert initial["type"] == "Rainwater-Friend"
        scale = AVOGADRO * v["sigma_eta"] ** 3 / molar_mass
        out.append("\n[transport.viscosity.initial]\n# second viscosity virial coefficient, m3/kg: sum b (T/epsilon)^t\n"
                   f"epsilon_k = {number(epsilon)}\n"
                   + rows("terms", [(b * scale, t) for b, t in zip(initial["b"], initial["t"])]))
    dense = v["higher_order"]
    kind = dense.get("hardcoded") or dense["type"]
    if kind == "modified_Batschinski_Hildebrand":
        free = [r for r in zip(dense["f"], dense["t2"], dense["d2"]) if r[0]]
        text = ("# terms: n, t, d, c, l of n tau^t delta^d exp(-c delta^l)\n"
                'form = "batschinski_hildebrand"\n'
                f"reducing_temperature_k = {number(dense['T_reduce'])}\n"
                f"reducing_density_kg_per_m3 = {number(dense['rhomolar_reduce'] * molar_mass)}\n"
                + rows("terms", [(a, t, d, -g, l if g else 0.0) for a, t, d, g, l in
                                 zip(dense["a"], dense["t1"], dense["d1"], dense["gamma"], dense["l"])])
                + "# free_volume: f, t, d of f tau^t delta^d (1/(close - delta) - 1/close); close: sum g tau^h / sum p tau^q\n"
                + rows("free_volume", free)
                + rows("close_numerator", zip(dense["g"], dense["h"]) if free else [])
                + rows("close_denominator", zip(dense["p"], dense["q"]) if free else []))
    elif kind == "friction_theory":
        assert dense["c1"] == 1 and dense["c2"] == 1 and "Adrdr" in dense
        text = ("# rows: ideal, repulsive, attractive, their squares in the same order; columns: coefficients of 1, exp(tau) - 1,\n"
                "# exp(tau^2) - 1, and the power of tau; bar to Pa is in the numbers\n"
                'form = "friction_theory"\n' f"reducing_temperature_k = {number(dense['T_reduce'])}\n"
                + rows("linear", [[*(a * 1e-5 for a in dense["Ai"]), 1],
                                  [*(a * 1e-5 for a in dense["Ar"]), dense["Nr"]],
                                  [*(a * 1e-5 for a in dense["Aa"]), dense["Na"]]])
                + rows("quadratic", [[*(a * 1e-10 for a in dense["Aii"]), dense["Nii"]],
                                     [*(a * 1e-10 for a in dense["Adrdr"]), dense["Nrr"]],
                                     [*(a * 1e-10 for a in dense["Aaa"]), dense["Naa"]]]))
    elif kind == "Ethane":
        text = ('# sum over sum: n, t, d of n tau^t delta^d, the denominator after a one; Friend et al. (1991), equation 13\n'
                'form = "ratio"\n' f"reducing_temperature_k = 305.33\nreducing_density_kg_per_m3 = {number(6870 * molar_mass)}\n"
                + rows("numerator", [(15.977e-6 * g, s, r) for g, s, r in zip(ETHANE_G[:9], FRIEND_S[:9], FRIEND_R[:9])])
                + rows("denominator", [(g, s, r) for g, s, r in zip(ETHANE_G[9:], FRIEND_S[9:], FRIEND_R[9:])]))
    else:
        names = {"CarbonDioxideLaeseckeJPCRD2017": "carbon_dioxide", "n-Hexane": "hexane", "n-Heptane": "heptane"}
        text = f'form = "{names.get(kind, kind.lower())}"\n'
    out.append("\n[transport.viscosity.dense]\n" + text)
    return "".join(out)


# Friend, Ingham and Ely, J. Phys. Chem. Ref. Data 20 (1991) 275, tables 7 and 8; the collision integral is shared with methane
FRIEND_OMEGA = [-3.0328138281, 16.918880086, -37.189364917, 41.288861858, -24.615921140, 8.9488430959, -1.8739245042,
                0.20966101390, -9.6570437074e-3]
FRIEND_R = [1, 1, 2, 2, 2, 3, 3, 4, 4, 1, 1]
FRIEND_S = [0, 1, 0, 1, 1.5, 0, 2, 0, 1, 0, 1]
ETHANE_G = [0.47177003, -0.23950311, 0.39808301, -0.27343335, 0.35192260, -0.21101308, -0.00478579, 0.07378129, -0.030435255,
            -0.30435286, 0.001215675]


def conductivity_part(k, v, molar_mass, eos, oracle_name):
    reducing = eos["STATES"]["reducing"]
    gas = eos["gas_constant"] / molar_mass
    out = [f'\n[transport.conductivity]\nsource = "{key(k["BibTeX"])}"\n']
    critical = k.get("critical")
    if oracle_name in ("Methane", "Helium"):
        return "".join(out + [f'\n[transport.conductivity.whole]\nform = "{oracle_name.lower()}"\n'])
    if k.get("type") == "ECS":
        assert k["f_int"]["T_reducing"] == 1.0 and k["f_int"]["t"] == [0, 1]
        psi = k["psi"]
        # Eucken: 15/4 R eta0 + f_int eta0 (cp0 - 5/2 R), f_int per 1000 as printed for g/mol
        out += ["\n[transport.conductivity.dilute]\n"
                "# translation gas eta0 + (internal[0] + internal[1] T) eta0 (cp0 - 5/2 R)\n"
                'form = "eucken"\n' f"translation = {number(15.0 / 4.0)}\n"
                f"internal = {row([a * 1e3 for a in k['f_int']['a']])}\n",
                "\n[transport.conductivity.dense]\n"
                f'form = "corresponding_states"\nreference = "{k["reference_fluid"].lower()}"\n'
                f"reducing_density_kg_per_m3 = {number(psi['rhomolar_reducing'] * molar_mass)}\n"
                f"shape = {row(psi['a'])}\n"]
        # the library takes its default cut-off; so the values agree
        critical = {"type": "simplified_Olchowy_Sengers", "qD": 2e9}
    else:
        dilute = k["dilute"]
        kind = dilute.get("hardcoded") or dilute["type"]
        if kind == "ratio_of_polynomials":
            text = ("# sum a (T/reducing)^n / sum b (T/reducing)^m\n"
                    'form = "ratio"\n' f"reducing_k = {number(dilute['T_reducing'])}\n"
                    + rows("numerator", zip(dilute["A"], dilute["n"])) + rows("denominator", zip(dilute["B"], dilute["m"])))
        elif kind == "eta0_and_poly":
            text = ("# by_viscosity (dilute viscosity) + sum a (reducing/T)^t\n"
                    'form = "viscosity_and_powers"\n' f"reducing_k = {number(reducing['T'])}\n"
                    f"by_viscosity = {number(dilute['A'][0] * 1e6)}\n" + rows("terms", list(zip(dilute["A"], dilute["t"]))[1:]))
        elif kind == "CarbonDioxideHuberJPCRD2016":
            l = [0.0151874307, 0.0280674040, 0.0228564190, -0.00741624210]
            text = ("# Huber et al. (2016), equation 3\n"
                    'form = "ratio"\n' f"reducing_k = {number(reducing['T'])}\n"
                    + rows("numerator", [(1e-3, 0.5)]) + rows("denominator", [(b, -i) for i, b in enumerate(l)]))
        elif kind == "Ethane":
            # 0.276505e-3 eta0/uPa s (3.75 - f (tau^2 a0'' + 1.5)): reducing temperature 305.33 K of its own
            own = (305.33 / reducing["T"]) ** 2
            text = ("# scale eta0 (3.75 - (internal[0] + internal[1]/T) (curvature tau^2 alpha0'' + 1.5)); Friend et al. (1991)\n"
                    'form = "internal"\n' f"scale = {number(0.276505e-3 * 1e6)}\n"
                    f"internal = {row([1.7104147, -0.6936482 * 245.0])}\ncurvature = {number(own)}\n")
        else:
            raise SystemExit(f"{oracle_name}: dilute conductivity {kind} is not carried over")
        out.append("\n[transport.conductivity.dilute]\n" + text)
        dense = k["residual"]
        text = "# terms: n, t, d, c, l of n tau^t delta^d exp(-c delta^l)\n" 'form = "terms"\n'
        if dense["type"] == "polynomial":
            text += (f"reducing_temperature_k = {number(dense['T_reducing'])}\n"
                     f"reducing_density_kg_per_m3 = {number(dense['rhomass_reducing'])}\n"
                     + rows("terms", [(b, t, d, 0, 0) for b, t, d in zip(dense["B"], dense["t"], dense["d"])]))
        elif dense["type"] == "polynomial_and_exponential":
            text += (f"reducing_temperature_k = {number(reducing['T'])}\n"
                     f"reducing_density_kg_per_m3 = {number(reducing['rhomolar'] * molar_mass)}\n"
                     + rows("terms", zip(*(dense[c] for c in ("A", "t", "d", "gamma", "l")))))
        else:
            raise SystemExit(f"{oracle_name}: residual conductivity {dense['type']} is not carried over")
        out.append("\n[transport.conductivity.dense]\n" + text)
    if critical.get("hardcoded") == "Ammonia":
        critical = TUFEU
    if critical.get("type") == "simplified_Olchowy_Sengers":
        # the defaults of the library, which are those of Olchowy and Sengers (1989) as simplified by Perkins et al.
        out.append("\n[transport.conductivity.critical]\n" + "".join(f"{name} = {number(x)}\n" for name, x in (
            ("amplitude", critical.get("R0", 1.03)),
            ("susceptibility", critical.get("GAMMA", 0.0496)),
            ("correlation_length_m", critical.get("zeta0", 1.94e-10)),
            ("cut_off_per_m", critical.get("qD", 2e9)),
            ("exponent", critical.get("nu", 0.63) / critical.get("gamma", 1.239)),
            ("reference_temperature_k", critical.get("T_ref", 1.5 * reducing["T"])),
            ("reducing_pressure_pa", reducing["p"]),
            ("reducing_density_kg_per_m3", reducing["rhomolar"] * molar_mass),
        )))
    return "".join(out)


# Tufeu et al. (1984) for ammonia: their own enhancement is infinite at 405.4 K at every density, the thin gas included.
# Their amplitudes of correlation length (0.134 nm) and susceptibility (0.423e-8 per Pa, times 11.36 MPa) enter the crossover
# form instead; its cut-off of 0.4 nm was set by us, between the 0.3 nm that meets their enhancement on the critical isochore from 410 to
# 470 K and the 0.5 nm that meets it in saturated vapour.
TUFEU = {"type": "simplified_Olchowy_Sengers", "R0": 1.02, "GAMMA": 0.423e-8 * 11.3634e6, "zeta0": 1.34e-10, "qD": 2.5e9}


def fluid_file(name, oracle_name):
    entry = json.loads(cp.get_fluid_param_string(oracle_name, "JSON"))[0]
    eos = entry["EOS"][0]
    molar_mass = eos["molar_mass"]
    reducing = eos["STATES"]["reducing"]
    lowest = eos["Ttriple"]
    if "SUPERANCILLARY" in eos:
        sup = eos["SUPERANCILLARY"]
        meta = sup["meta"]
        # the pressure where the expansions end: that of the equation itself, from which some tabulated values differ by 1 %
        end = sum(sup["jexpansions_p"][-1]["coef"])
        critical = (meta["Tcrittrue / K"], meta["rhocrittrue / mol/m^3"], 22.064e6 if oracle_name == "Water" else end)
        sup = sup if oracle_name == "Water" else polished(sup, oracle_name)
    else:
        own = OwnSaturation(oracle_name, lowest)
        critical, sup = own.critical, own.expansions()
    out = [
        f"# {name}: Helmholtz equation of state, viscosity and conductivity, mass basis, SI units.\n",
        f"# Generated by `cargo xtask fluids` from CoolProp {VERSION} (MIT licence). Do not edit.\n",
        f'name = "{name}"\n',
        f'data_version = "CoolProp {VERSION}"\n',
        f'equation_source = "{key(eos["BibTeX_EOS"])}"\n',
        f"molar_mass_kg_per_mol = {number(molar_mass)}\n",
        f"gas_constant_j_per_kg_k = {number(eos['gas_constant'] / molar_mass)}\n",
        f"reducing_temperature_k = {number(reducing['T'])}\n",
        f"reducing_density_kg_per_m3 = {number(reducing['rhomolar'] * molar_mass)}\n",
        f"critical_temperature_k = {number(critical[0])}\n",
        f"critical_density_kg_per_m3 = {number(critical[1] * molar_mass)}\n",
        f"critical_pressure_pa = {number(critical[2])}\n",
        f"triple_temperature_k = {number(lowest)}\n",
        f"triple_pressure_pa = {number(eos['STATES']['sat_min_liquid']['p'])}\n",
        f"highest_temperature_k = {number(eos['T_max'])}\n",
        f"highest_pressure_pa = {number(eos['p_max'])}\n",
        ideal_part(eos, oracle_name, reducing["T"]),
        residual_part(eos, oracle_name),
    ]
    if oracle_name != "Water":
        transport = entry["TRANSPORT"]
        out.append(viscosity_part(transport["viscosity"], molar_mass, eos, oracle_name))
        out.append(conductivity_part(transport["conductivity"], transport["viscosity"], molar_mass, eos, oracle_name))
    out.append(saturation_part(sup, molar_mass))
    return "".join(out)


# ---------------------------------------------------------------- check values

def state_row(state):
    """T, p, rho, h, cp, cv, four derivatives, viscosity, conductivity."""
    return [
        state.T(), state.p(), state.rhomass(), state.hmass(), state.cpmass(), state.cvmass(),
        state.first_partial_deriv(cp.iT, cp.iP, cp.iHmass), state.first_partial_deriv(cp.iT, cp.iHmass, cp.iP),
        state.first_partial_deriv(cp.iDmass, cp.iP, cp.iHmass), state.first_partial_deriv(cp.iDmass, cp.iHmass, cp.iP),
        state.viscosity(), state.conductivity(),
    ]


def checks(name, oracle_name):
    """Liquid, vapour, supercritical and near-saturation states at reduced temperatures; saturated phases."""
    state = cp.AbstractState("HEOS", oracle_name)
    t_c, p_c, t_3 = state.T_critical(), state.p_critical(), state.Ttriple()
    t_high = min(state.Tmax(), 3.0 * t_c)
    pseudo = oracle_name == "Air"
    single = []
    for t in [t_3 + 0.15 * (t_c - t_3), 0.6 * t_c, 0.75 * t_c, 0.9 * t_c, 0.98 * t_c, 1.01 * t_c, 1.1 * t_c, 1.4 * t_c, t_high]:
        if not t_3 < t <= t_high:
            continue
        t = round(t, 2)
        pressures = [0.003 * p_c, 0.1 * p_c, 0.8 * p_c, 1.05 * p_c, 1.5 * p_c, 5.0 * p_c]
        if t < t_c and not pseudo:
            state.unspecify_phase()
            state.update(cp.QT_INPUTS, 0, t)
            pressures += [1.001 * state.p(), 0.999 * state.p()]
        for p in pressures:
            p = float(f"{p:.5g}")
            if p < 10.0 or p > state.pmax():
                continue
            state.unspecify_phase()
            try:
                if state.has_melting_line() and t < 1.2 * t_3 and t < state.melting_line(cp.iT, cp.iP, p):
                    continue
            except ValueError:
                pass
            try:
                state.update(cp.PT_INPUTS, p, t)
                # the pressure of the equation itself, not the one asked for, which the library meets to some 1e-8 only
                state.specify_phase(cp.iphase_gas)
                state.update(cp.DmolarT_INPUTS, state.rhomolar(), t)
                single.append(state_row(state))
            except ValueError as problem:
                print(f"  {name} {t} K {p} Pa: {problem}")
    saturated = []
    state.unspecify_phase()
    if not pseudo:
        for f in (0.0, 0.2, 0.4, 0.6, 0.8, 0.9, 0.97, 0.995):
            t = t_3 + f * (t_c - t_3)
            line = [t]
            for q in (0, 1):
                state.update(cp.QT_INPUTS, q, t)
                try:
                    line += [state.p(), state.rhomass(), state.hmass(), state.viscosity(), state.conductivity()]
                except ValueError as problem:
                    print(f"  {name} saturated at {t} K: {problem}")
            if len(line) == 11:
                saturated.append(line)
    return (
        f"# Values of CoolProp {VERSION} (MIT licence). Generated by `cargo xtask fluids`.\n"
        "# single: T, p, rho, h, cp, cv, dT/dp|h, dT/dh|p, drho/dp|h, drho/dh|p, viscosity, conductivity\n"
        + rows("single", single)
        + "# saturated: T, then p, rho, h, viscosity, conductivity of liquid and of vapour\n"
        + rows("saturated", saturated)
    )


def file_name(name):
    return name.lower().replace(" ", "-") + ".toml"


def write_all(data, tests, write, only=None):
    for name, oracle_name in FLUIDS:
        if only and name not in only:
            continue
        write(data / "fluids" / file_name(name), fluid_file(name, oracle_name))
        if name != "water":
            write(tests / file_name(name), checks(name, oracle_name))
