"""Two films between faces that are not the same at every angle, solved a second time, with a general finite-element library.

Written for the checks G3 and C9 of `crates/checks`; run by `cargo xtask films`, never by a build or a test. Nothing of the shipped program is used:
the weak forms are written out here, the library assembles them, the algorithms are others than the program's.

Both films are written in x = ln r and y = angle less the turn s(x) of the lines, in which lines of constant y are spirals. The map from (x, angle)
to (x, y) has determinant one, and an integral of grad p . grad v over the face is the same in (x, angle) as in (r, angle):

    p_x at constant angle = p_x - s' p_y        p_angle = p_y        dA = r^2 dx dy

**Gas** (spiral grooves): find p such that for every v that vanishes at both rims

    int  p/(RT) h^3/(12 mu) grad p . grad v  -  p/(RT) h r^2 V v_y  dx dy  =  0,      V = mean angular speed of both faces seen from the grooves

Quadratic rectangles, gap evaluated where the integrals are, Newton's method with full steps from the film at rest. The stiffness is the slope of
the solution, by one more solution with the last factors.

**Liquid** (waves on a coned face): pressure p above that of the cavity and missing liquid d = h (1 - theta), both at least zero and one of them
zero, such that

    int  h^3/(12 mu) grad p . grad v  -  (h - d) r^2 V v_y  -  (step/2) r^2 V d_y v_y  dx dy  =  0

Linear rectangles; the last term is the diffusion that takes d from upstream (first order in the step along y). Complementarity by smoothing: one
unknown u at each node, p = (u + sqrt(u^2 + 4 e^2))/2 and a d = p - u, so that a d p = e^2; e falls from a hundredth of the pressure until it does
not matter, a few Newton steps at each. No active sets, no nested grids.

Flows through the rims are the residuals at the rims' nodes: they add up to zero to rounding. Every film is solved on nested grids; the file stores
each grid's values, the observed order and Richardson's value.
"""

import json
import math
import pathlib
import sys

import numpy as np
import scipy
import skfem
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementQuad1, ElementQuad2, Functional, LinearForm, MeshQuad

OUT = pathlib.Path(__file__).resolve().parent.parent / "crates/checks/data/films.json"


def graded(start, end, cells, grade_start, grade_end):
    """Lines from start to end, crowded at either end by a power."""
    half = cells // 2
    t = np.linspace(0.0, 1.0, half + 1)
    left = 0.5 * t**grade_start
    right = 1.0 - 0.5 * (1.0 - np.linspace(0.0, 1.0, cells - half + 1)) ** grade_end
    return start + (end - start) * np.concatenate([left, right[1:]])


def bands(*parts):
    """Lines through several stretches, each shared end once."""
    lines = [graded(*parts[0])]
    lines += [graded(*part)[1:] for part in parts[1:]]
    return np.concatenate(lines)


class Ring:
    """One sector, periodic in y: a mesh, a basis, and the matrix that gives every degree of freedom its independent one."""

    def __init__(self, x, y, element, order):
        self.x, self.y = x, y
        self.basis = Basis(MeshQuad.init_tensor(x, y), element, intorder=order)
        place = self.basis.doflocs
        period = y[-1] - y[0]
        known = {}
        index = np.empty(self.basis.N, dtype=int)
        names = []
        for dof in range(self.basis.N):
            at = (round(place[0, dof] * 1e12), round(((place[1, dof] - y[0]) % period) / period * 1e9) % 1_000_000_000)
            if at not in known:
                known[at] = len(names)
                names.append(dof)
            index[dof] = known[at]
        self.names = np.array(names)
        self.fold = coo_matrix((np.ones(self.basis.N), (np.arange(self.basis.N), index))).tocsr()
        self.at_x = place[0, self.names]
        self.at_y = place[1, self.names]
        rim = lambda value: np.nonzero(np.abs(self.at_x - value) < 1e-12)[0]
        self.inner, self.outer = rim(x[0]), rim(x[-1])
        self.free = np.setdiff1d(np.arange(len(names)), np.concatenate([self.inner, self.outer]))

    def vector(self, form, **data):
        return self.fold.T @ form.assemble(self.basis, **data)

    def matrix(self, form, **data):
        return (self.fold.T @ form.assemble(self.basis, **data) @ self.fold).tocsc()

    def field(self, values):
        return self.basis.interpolate(self.fold @ values)


def study(values):
    """Richardson's value and observed order of three or more nested grids, each twice as fine; from the last three."""
    a, b, c = values[-3:]
    ratio = (a - b) / (b - c)
    if ratio <= 1.2:
        return {"grids": values, "order": None, "extrapolated": c, "last_change": c - b}
    order = math.log2(ratio)
    return {"grids": values, "order": order, "extrapolated": c + (c - b) / (ratio - 1.0), "last_change": c - b}


# ---------------------------------------------------------------------------------------------------------------------------------------------------

GROOVES = {
    "inner_m": 59e-3,
    "groove_inner_m": 68.5e-3,
    "outer_m": 78e-3,
    "count": 12,
    "angle_deg": 15.0,
    "depth_m": 6e-6,
    "width_ratio": 0.5,
    "gap_inner_m": 2.5e-6,
    "coning_m": 0.5e-6,
    "speed_rpm": 10_500.0,
    "gas_constant": 488.21,
    "temperature_k": 368.15,
    "viscosity_pa_s": 12.6e-6,
    "inner_pa": 111_325.0,
    "outer_pa": 1_601_325.0,
}


def grooved(case, fineness):
    """Opening force (absolute), leakage, stiffness and greatest pressure on one grid."""
    a, g, b = (math.log(case[key]) for key in ("inner_m", "groove_inner_m", "outer_m"))
    pitch = math.tau / case["count"]
    wall = case["width_ratio"] * pitch
    n = fineness
    x = bands((a, g, 4 * n, 1.0, 2.0), (g, b, 6 * n, 2.0, 2.0))
    y = bands((0.0, wall, 4 * n, 1.5, 1.5), (wall, pitch, 4 * n, 1.5, 1.5))
    ring = Ring(x, y, ElementQuad2(), 5)
    cot = 1.0 / math.tan(math.radians(case["angle_deg"]))
    mean_speed = -0.5 * case["speed_rpm"] * math.tau / 60.0
    share = 1.0 / (case["gas_constant"] * case["temperature_k"])
    mu = case["viscosity_pa_s"]

    def gap(w):
        r = np.exp(w.x[0])
        cone = case["coning_m"] * (r - case["inner_m"]) / (case["outer_m"] - case["inner_m"])
        return case["gap_inner_m"] + cone + case["depth_m"] * ((w.x[0] > g) & (w.x[1] < wall))

    def turned(gradient, w):
        return gradient[0] - np.where(w.x[0] > g, cot, 0.0) * gradient[1], gradient[1]

    def dot(u, v, w):
        (ux, uy), (vx, vy) = turned(u, w), turned(v, w)
        return ux * vx + uy * vy

    @LinearForm
    def residual(v, w):
        h, p = gap(w), w["p"]
        return share * (p * h**3 / (12 * mu) * dot(p.grad, v.grad, w) - w["speed"] * p * h * np.exp(2 * w.x[0]) * v.grad[1])

    @BilinearForm
    def slope(u, v, w):
        h, p = gap(w), w["p"]
        across = h**3 / (12 * mu) * (p * dot(u.grad, v.grad, w) + u * dot(p.grad, v.grad, w))
        return share * (across - w["speed"] * u * h * np.exp(2 * w.x[0]) * v.grad[1])

    @LinearForm
    def by_gap(v, w):
        h, p = gap(w), w["p"]
        return share * (p * 3 * h**2 / (12 * mu) * dot(p.grad, v.grad, w) - w["speed"] * p * np.exp(2 * w.x[0]) * v.grad[1])

    @LinearForm
    def areas(v, w):
        return np.exp(2 * w.x[0]) * v

    s = (ring.at_x - a) / (b - a)
    p = np.sqrt(case["inner_pa"] ** 2 + s * (case["outer_pa"] ** 2 - case["inner_pa"] ** 2))
    p[ring.inner], p[ring.outer] = case["inner_pa"], case["outer_pa"]
    for speed in (0.0, 0.25 * mean_speed, 0.5 * mean_speed, 0.75 * mean_speed, mean_speed):
        for _ in range(25):
            field = ring.field(p)
            r = ring.vector(residual, p=field, speed=speed)
            factors = splu(ring.matrix(slope, p=field, speed=speed)[ring.free][:, ring.free].tocsc())
            change = factors.solve(-r[ring.free])
            p[ring.free] += change
            if np.abs(change).max() < 1e-10 * case["outer_pa"]:
                break
        else:
            raise RuntimeError("Newton's method did not converge")
    field = ring.field(p)
    r = ring.vector(residual, p=field, speed=mean_speed)
    weight = ring.vector(areas)
    moved = np.zeros_like(p)
    moved[ring.free] = factors.solve(-ring.vector(by_gap, p=field, speed=mean_speed)[ring.free])
    count = case["count"]
    inflow, outflow = count * r[ring.outer].sum(), -count * r[ring.inner].sum()
    return {
        "force_n": count * weight @ p,
        "leakage_kg_per_s": outflow,
        "mass_balance": abs(inflow - outflow) / abs(outflow),
        "stiffness_n_per_m": -count * weight @ moved,
        "greatest_pressure_pa": p.max(),
        "unknowns": len(ring.free),
    }


# ---------------------------------------------------------------------------------------------------------------------------------------------------

WAVES = {
    "inner_m": 24.45e-3,
    "outer_m": 30.80e-3,
    "count": 9,
    "amplitude_m": 0.5e-6,
    "gap_inner_m": 1.0e-6,
    "coning_m": 0.4e-6,
    "speed_rpm": 3_000.0,
    "density_kg_per_m3": 1_000.0,
    "viscosity_pa_s": 1e-3,
    "inner_pa": 100_000.0,
    "outer_pa": 1_100_000.0,
    "cavity_pa": 1.0,
}


def wavy(case, fineness):
    """Opening force (absolute), leakage, greatest pressure and cavitated share on one grid."""
    a, b = math.log(case["inner_m"]), math.log(case["outer_m"])
    period = math.tau / case["count"]
    x, y = np.linspace(a, b, 8 * fineness + 1), np.linspace(0.0, period, 40 * fineness + 1)
    ring = Ring(x, y, ElementQuad1(), 5)
    step = period / (40 * fineness)
    speed = 0.5 * case["speed_rpm"] * math.tau / 60.0
    mu, cavity = case["viscosity_pa_s"], case["cavity_pa"]

    def gap_at(x, y):
        cone = case["coning_m"] * (np.exp(x) - case["inner_m"]) / (case["outer_m"] - case["inner_m"])
        return case["gap_inner_m"] + cone + case["amplitude_m"] * np.cos(case["count"] * y)

    gap = lambda w: gap_at(w.x[0], w.x[1])

    @BilinearForm
    def conductance(u, v, w):
        return gap(w) ** 3 / (12 * mu) * (u.grad[0] * v.grad[0] + u.grad[1] * v.grad[1])

    @BilinearForm
    def carried(u, v, w):
        return speed * np.exp(2 * w.x[0]) * (u - 0.5 * step * u.grad[1]) * v.grad[1]

    @LinearForm
    def drawn(v, w):
        return -speed * np.exp(2 * w.x[0]) * gap(w) * v.grad[1]

    @LinearForm
    def areas(v, w):
        return np.exp(2 * w.x[0]) * v

    K, C, f, weight = ring.matrix(conductance), ring.matrix(carried), ring.vector(drawn), ring.vector(areas)
    scale = case["outer_pa"]
    per_gap = scale / case["gap_inner_m"]
    s = (ring.at_x - a) / (b - a)
    edge = np.where(s < 0.5, case["inner_pa"], case["outer_pa"]) - cavity
    u = case["inner_pa"] + s * (case["outer_pa"] - case["inner_pa"]) - cavity
    free = ring.free
    history = []
    for power in range(2, 11):
        smooth = scale * 10.0 ** (-power)
        for _ in range(60):
            root = np.sqrt(u * u + 4 * smooth**2)
            p, d = 0.5 * (u + root), 0.5 * (root - u) / per_gap
            p[ring.inner], p[ring.outer], d[ring.inner], d[ring.outer] = edge[ring.inner], edge[ring.outer], 0.0, 0.0
            r = K @ p + C @ d + f
            dp, dd = 0.5 * (1 + u / root), 0.5 * (u / root - 1) / per_gap
            jacobian = (K.multiply(dp[None, :]) + C.multiply(dd[None, :])).tocsc()[free][:, free].tocsc()
            change = splu(jacobian).solve(-r[free])
            size = np.abs(change).max()
            u[free] += change
            if size < 1e-9 * scale or np.abs(r[free]).max() < 1e-13 * np.abs(f).max():
                break
        else:
            raise RuntimeError(f"no convergence at a smoothing of {smooth} Pa")
        history.append(case["count"] * weight @ p)
    count, rho = case["count"], case["density_kg_per_m3"]
    inflow, outflow = count * rho * r[ring.outer].sum(), -count * rho * r[ring.inner].sum()
    return {
        "force_n": count * weight @ (p + cavity),
        "leakage_m3_per_s": outflow / rho,
        "mass_balance": abs(inflow - outflow) / abs(outflow),
        "greatest_pressure_pa": p.max() + cavity,
        "cavitated_share": weight[u < 0].sum() / weight.sum(),
        "last_smoothing_changes_force_n": abs(history[-1] - history[-2]),
        "unknowns": len(free),
    }


def solved(case, solve, grids, quantities):
    """Every grid and the study of each quantity."""
    found = [solve(case, fineness) for fineness in grids]
    for one in found:
        print({key: float(value) for key, value in one.items()}, file=sys.stderr)
    return {
        "case": case,
        "unknowns": [int(one["unknowns"]) for one in found],
        "greatest_mass_balance": float(max(one["mass_balance"] for one in found)),
        "quantities": {name: study([float(one[name]) for one in found]) for name in quantities},
    }


def main():
    fast = "--fast" in sys.argv
    result = {
        "what": "two films by xtask/films.py; written by it, not by hand",
        "versions": {
            "python": sys.version.split()[0],
            "scikit-fem": skfem.__version__,
            "numpy": np.__version__,
            "scipy": scipy.__version__,
        },
        "spiral_grooves": {
            "elements": "quadratic rectangles in (ln r, spiral-aligned angle), graded to rims and walls",
            **solved(
                GROOVES, grooved, [2, 4, 8] if fast else [3, 6, 12], ["force_n", "leakage_kg_per_s", "stiffness_n_per_m", "greatest_pressure_pa"]
            ),
        },
        "coned_waves": {
            "elements": "linear rectangles in (ln r, angle), missing liquid taken from upstream",
            **solved(
                WAVES, wavy, [1, 2, 4] if fast else [2, 4, 8, 16], ["force_n", "leakage_m3_per_s", "greatest_pressure_pa", "cavitated_share"]
            ),
        },
    }
    text = json.dumps(result, indent=1)
    if fast:
        print(text)
    else:
        OUT.parent.mkdir(exist_ok=True)
        OUT.write_text(text + "\n")


if __name__ == "__main__":
    main()
