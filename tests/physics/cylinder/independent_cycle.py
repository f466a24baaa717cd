"""A second closed cycle, written apart from the package, to check the package against.

Species energies come from Cantera (nasa_gas.yaml), products from element balances or from
Cantera's equilibrium solver, the march from scipy's DOP853 on the internal energy with a
temperature solve at each evaluation. Slider-crank, Wiebe and Woschni are written out again.
Angles here are in radians, pressures in pascal; all cases are marched together.
"""

import functools

import cantera as ct
import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicSpline

BORE, STROKE, ROD = 0.084, 0.09, 0.148
CLOSING, OPENING = np.radians(-135.0), np.radians(132.0)
EXHAUST, WALL, TRAPPED_K = 1.2e5, 460.0, 335.0
GAS_NAMES = ["N2", "O2", "Ar", "CO2", "H2O", "CO", "H2", "OH", "NO", "O", "H"]
FUEL_NAMES = ["C8H18,isooctane", "C7H8", "C2H5OH"]
R = ct.gas_constant / 1000


@functools.cache
def solution():
    known = {s.name: s for s in ct.Species.list_from_file("nasa_gas.yaml")}
    return ct.Solution(thermo="ideal-gas", species=[known[n] for n in GAS_NAMES + FUEL_NAMES])


@functools.cache
def species_energy():
    """Splines of molar internal energy [J/mol] of every species by temperature."""
    t = np.linspace(250.0, 3600.0, 1341)
    gas = solution()
    rows = [[s.thermo.h(x) / 1000 - R * x for s in gas.species()] for x in t]
    return CubicSpline(t, np.array(rows), axis=0)


def molar_mass(vector):
    return float(vector @ solution().molecular_weights) / 1000


def vector(**moles):
    names = GAS_NAMES + FUEL_NAMES
    result = np.zeros(len(names))
    for name, value in moles.items():
        result[names.index({"isooctane": "C8H18,isooctane"}.get(name, name))] = value
    return result


AIR = {"O2": 0.2095, "N2": 0.7809, "Ar": 0.0096}


def charge(case):
    """Moles per kilogram trapped before and after burning, and the fuel's energy bookkeeping.

    `case`: dict with ethanol (volume fraction) or diesel=True, lam, residual.
    """
    if case["diesel"]:
        carbon, hydrogen, oxygen = 0.170 / (0.012011 + 1.8 * 0.001008), None, 0.0
        hydrogen = 1.8 * carbon
        heating = 42.5e6
    else:
        v = case["ethanol"]
        w = v * 789 / (v * 789 + (1 - v) * 745)
        petrol = 0.626 * 0.114232 + 0.374 * 0.092141
        x = w / 0.046069 / (w / 0.046069 + (1 - w) / petrol)
        vapour = vector(isooctane=0.626 * (1 - x), C7H8=0.374 * (1 - x), C2H5OH=x)
        carbon = 8 * 0.626 * (1 - x) + 7 * 0.374 * (1 - x) + 2 * x
        hydrogen = 18 * 0.626 * (1 - x) + 8 * 0.374 * (1 - x) + 6 * x
        oxygen = x
        heating = (1 - w) * 43.4e6 + w * 26.8e6
    mass = carbon * 0.012011 + hydrogen * 0.001008 + oxygen * 0.015999
    need = carbon + hydrogen / 4 - oxygen / 2
    lam = case["lam"]
    air = vector(**{k: lam * need * v / AIR["O2"] for k, v in AIR.items()})
    lack = max(2 * need * (1 - lam), 0.0)
    g = solution()
    gibbs = {
        n: g.species(n).thermo.h(1740.0) - 1740.0 * g.species(n).thermo.s(1740.0)
        for n in ("CO", "H2O", "CO2", "H2")
    }
    k = np.exp(
        -(gibbs["CO"] + gibbs["H2O"] - gibbs["CO2"] - gibbs["H2"]) / (ct.gas_constant * 1740)
    )
    co = 0.0
    if lack > 0:
        roots = np.roots([1 - k, hydrogen / 2 - lack + k * (carbon + lack), -k * carbon * lack])
        co = next(r.real for r in roots if 0 < r.real < min(carbon, lack))
    burned = vector(
        CO2=carbon - co,
        CO=co,
        H2=lack - co,
        H2O=hydrogen / 2 - lack + co,
        O2=max(need * (lam - 1), 0.0),
        N2=air[0],
        Ar=air[2],
    )
    burned /= molar_mass(burned)
    air_mass = molar_mass(air)
    formation = carbon * g.species("CO2").thermo.h(298.15) + hydrogen / 2 * g.species(
        "H2O"
    ).thermo.h(298.15)
    liquid = heating + formation / 1000 / mass
    s = case["residual"]
    if case["diesel"]:
        start = (1 - s) * air / air_mass + s * burned
        fuel = (1 - s) * mass / air_mass
        return {
            "start": start,
            "end": (1 + fuel) * burned,
            "shift": 0.0,
            "fuel": fuel,
            "brought": fuel * liquid,
            "heating": heating,
            "burned": burned,
        }
    latent = (1 - w) * 349e3 + w * 921e3
    own = sum(vapour[i] * g.species(i).thermo.h(298.15) / 1000 for i in range(len(vapour)))
    fuel = (1 - s) * mass / (air_mass + mass)
    start = (1 - s) * (air + vapour) / (air_mass + mass) + s * burned
    return {
        "start": start,
        "end": burned,
        "shift": fuel * (liquid + latent - own / mass),
        "fuel": fuel,
        "brought": 0.0,
        "heating": heating,
        "burned": burned,
    }


TABLE_T = np.concatenate([np.arange(250.0, 1400.0, 230.0), np.arange(1400.0, 3601.0, 100.0)])
TABLE_P = np.log(np.geomspace(0.5e5, 800e5, 10))


def equilibrium_table(burned):
    """u [J/kg] and R [J/(kg K)] of equilibrium products over (T, ln p), as (T, p, 2)."""
    g, t, p = solution(), TABLE_T, TABLE_P
    u, r = np.empty((t.size, p.size)), np.empty((t.size, p.size))
    x = np.maximum(burned, 0)
    for i, temperature in enumerate(t):
        for j, logp in enumerate(p):
            g.TPX = temperature, np.exp(logp), x
            if temperature > 600:
                g.equilibrate("TP", rtol=1e-9)
            u[i, j], r[i, j] = g.int_energy_mass, ct.gas_constant / g.mean_molecular_weight
    return np.stack([u, r], axis=-1)


class Products:
    """Bicubic splines of u and R of equilibrium products of every case at once."""

    def __init__(self, burned):
        values = np.stack([equilibrium_table(b) for b in burned], axis=2)
        by_t = CubicSpline(TABLE_T, values, axis=0).c  # power, T, p, case, which
        both = CubicSpline(TABLE_P, by_t, axis=2).c  # power of p, p, power of T, T, case, which
        self.pieces = np.ascontiguousarray(both.transpose(4, 3, 1, 5, 0, 2))
        self.case = np.arange(len(burned))

    def at(self, t, log_p):
        """u and R of each case at its own temperature and pressure, as (2, case)."""
        i = np.clip(np.searchsorted(TABLE_T, t) - 1, 0, TABLE_T.size - 2)
        j = np.clip(np.searchsorted(TABLE_P, log_p) - 1, 0, TABLE_P.size - 2)
        x, y = (t - TABLE_T[i])[:, None], (log_p - TABLE_P[j])[:, None]
        powers = np.arange(3, -1, -1)
        here = self.pieces[self.case, i, j]
        return np.einsum("nqab,na,nb->qn", here, y**powers, x**powers)


class Independent:
    """All cases at once. Each case: diesel, ethanol, lam, residual, ratio, ca50, burn, speed, x."""

    def __init__(self, cases, equilibrium=False, heat_scale=1.0, completeness=0.97):
        self.cases, self.scale = cases, heat_scale
        self.completeness = completeness
        get = lambda key: np.array([c[key] for c in cases])  # noqa: E731
        self.ratio, self.ca50, self.burn = get("ratio"), get("ca50"), get("burn")
        self.speed = get("speed")
        gases = [charge(c) for c in cases]
        self.start = np.array([c["start"] for c in gases])
        self.end = np.array([c["end"] for c in gases])
        self.shift = np.array([c["shift"] for c in gases])
        self.brought = np.array([c["brought"] for c in gases])
        self.fuel = np.array([c["fuel"] for c in gases])
        self.heating = np.array([c["heating"] for c in gases])
        self.tables = Products([c["burned"] for c in gases]) if equilibrium else None
        self.grown = self.end @ solution().molecular_weights / 1000
        self.area = np.pi / 4 * BORE**2
        self.swept = self.area * STROKE
        if "wiebe" in cases[0]:
            self.fraction = lambda a: np.array([c["wiebe"](a) for c in cases])
        else:
            t10, t50, t90 = (np.cbrt(-np.log(1 - f)) for f in (0.1, 0.5, 0.9))
            self.stretch = self.burn / (t90 - t10)
            self.begin = self.ca50 - t50 * self.stretch
            self.fraction = lambda a: (
                1 - np.exp(-(np.maximum((a - self.begin) / self.stretch, 0.0) ** 3))
            )

    def volume(self, a):
        r = STROKE / 2
        travel = r * (1 - np.cos(a)) + ROD - np.sqrt(ROD**2 - (r * np.sin(a)) ** 2)
        return self.swept / (self.ratio - 1) + self.area * travel

    def energy(self, t, p, x):
        """Internal energy per kilogram trapped [J/kg] and gas constant [J/(kg K)]."""
        u = species_energy()(t)
        first = np.sum(self.start * u, axis=1) + self.shift
        if self.tables is None:
            second = np.sum(self.end * u, axis=1)
            r2 = R * self.end.sum(axis=1)
        else:
            second, r2 = self.tables.at(t, np.log(p)) * self.grown
        return (1 - x) * first + x * (second - self.brought), (1 - x) * R * self.start.sum(
            axis=1
        ) + x * r2

    def state(self, energy, a, guess):
        """Temperature and pressure for an internal energy per kilogram at an angle."""
        x = self.completeness * self.fraction(a)
        v = self.volume(a)
        t, p = guess
        for turn in range(60):
            u, r = self.energy(t, p, x)
            p = self.mass * r * t / v
            if turn % 2 == 0:  # the slope changes little from one turn to the next
                slope = (self.energy(t + 0.5, p, x)[0] - u) / 0.5
            move = (energy - u) / slope
            t = np.clip(t + np.clip(move, -400, 400), 251.0, 3599.0)
            if np.max(np.abs(move) / t) < 1e-10:
                break
        _, r = self.energy(t, p, x)
        return t, self.mass * r * t / v

    def run(self, trapped, rtol=1e-7):
        """March; returns peak pressure, gross mean effective pressure and its angle."""
        n = len(self.cases)
        r0 = R * self.start.sum(axis=1)
        v0 = self.volume(CLOSING)
        self.mass = trapped * v0 / (r0 * TRAPPED_K)
        first, _ = self.energy(np.full(n, TRAPPED_K), trapped, np.zeros(n))
        guess = [np.full(n, TRAPPED_K), trapped]
        piston = 2 * STROKE * self.speed / (2 * np.pi)

        def rates(a, y):
            t, p = self.state(y[:n], a, guess)
            guess[:] = [t, p]
            v = self.volume(a)
            r = STROKE / 2
            dv = self.area * (
                r * np.sin(a)
                + r**2 * np.sin(a) * np.cos(a) / np.sqrt(ROD**2 - (r * np.sin(a)) ** 2)
            )
            burning = self.fraction(a) > 0
            motored = trapped * (v0 / v) ** 1.32
            fire = 3.24e-3 * self.swept * TRAPPED_K / (trapped * v0) * (p - motored) * burning
            top = self.swept / (self.ratio - 1)
            stir = 2 * 2.28 * piston * (top / v) ** 2 * np.maximum(self.imep / 1e5, 1.0) ** -0.2
            w = 2.28 * piston + np.maximum(fire, stir)
            h = self.scale * 130 * BORE**-0.2 * (p / 1e5) ** 0.8 * t**-0.53 * w**0.8
            q = h * (2 * self.area + 4 * v / BORE) * (t - WALL) / self.speed
            return np.concatenate([(-p * dv - q) / self.mass, p * dv])

        nodes = np.linspace(CLOSING, OPENING, 535)
        answer = solve_ivp(
            rates,
            (CLOSING, OPENING),
            np.concatenate([first, np.zeros(n)]),
            method="DOP853",
            t_eval=nodes,
            rtol=rtol,
            atol=1e-3,
            max_step=np.radians(4),
        )
        assert answer.success
        trace = np.empty((nodes.size, n))
        guess[:] = [np.full(n, TRAPPED_K), trapped]
        for k, a in enumerate(nodes):
            t, p = self.state(answer.y[:n, k], a, guess)
            guess[:] = [t, p]
            trace[k] = p
        self.evaluations = answer.nfev
        work = answer.y[n:, -1] + trapped * (v0 - self.volume(-np.pi))
        late = np.linspace(OPENING, np.pi, 400)
        fall = (
            EXHAUST
            + (trace[-1] - EXHAUST)
            * (0.5 * (1 + np.cos(np.pi * (late - OPENING) / (np.pi - OPENING))))[:, None]
        )
        volumes = np.array([self.volume(a) for a in late])
        work += np.sum(0.5 * (fall[1:] + fall[:-1]) * np.diff(volumes, axis=0), axis=0)
        peaks = np.empty(n)
        for j in range(n):
            k = int(np.clip(np.argmax(trace[:, j]), 1, nodes.size - 2))
            b, c, d = trace[k - 1 : k + 2, j]
            peaks[j] = c - (b - d) ** 2 / (8 * (b - 2 * c + d))
        return peaks, work / self.swept, trace

    def at_imep(self, target):
        """Secant on trapped pressure until the mean effective pressure is the target's."""
        self.imep = target
        heat = self.fuel * self.heating * np.minimum([c["lam"] for c in self.cases], 1.0)
        r0 = R * self.start.sum(axis=1)
        old = target * self.swept * r0 * TRAPPED_K / (0.38 * heat * self.volume(CLOSING))
        _, old_imep, _ = self.run(old, rtol=1e-6)
        trapped, slope = old * target / old_imep, old_imep / old
        for _ in range(6):
            peak, imep, trace = self.run(trapped)
            if np.max(np.abs(imep / target - 1)) < 1e-5:
                return trapped, peak, trace
            apart = np.abs(trapped / old - 1) > 1e-4  # closer, the march's own error is the slope
            with np.errstate(divide="ignore", invalid="ignore"):
                slope = np.where(apart, (imep - old_imep) / (trapped - old), slope)
            old, old_imep = trapped, imep
            trapped = trapped - (imep - target) / slope
        raise AssertionError("the independent cycle did not reach its mean effective pressure")
