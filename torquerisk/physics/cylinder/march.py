"""The march of the single-zone energy balance over crank angle, many lanes at a time.

dU = -p dV - dQ_wall with absolute energies, by the implicit trapezium rule: second order, and the
energy account is carried along so that no error of the temperature solve adds up. Every array
operation writes into a buffer made once, because the cost is memory traffic and call overhead.
"""

from dataclasses import dataclass

import numpy as np

from torquerisk.physics.arrays import Array
from torquerisk.physics.cylinder.equilibrium import REFERENCE_PRESSURE, dissociation
from torquerisk.physics.cylinder.heat_loss import WOSCHNI_TEMPERATURE_EXPONENT
from torquerisk.physics.cylinder.species import PIVOT, TERMS

_HOTTEST_GUESS = 3000.0
"""Bound on the extrapolated temperature [K]: beyond it dissociation grows too steeply to solve."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Grid:
    """What a march needs that does not depend on trapped pressure; rows are nodes of angle.

    volume: gas volume with the angle held within the closed period, (k, 1 or n) [m3].
    change: its change over each step, (k-1, 1 or n). duration: of each step, (k-1, 1 or n) [s].
    area: wall area (k, 1 or n) [m2]. motored: motored over trapped pressure, (k, 1 or n) [-].
    closeness: clearance over cylinder volume, squared, (k, 1 or n) [-].
    burned: burned fraction of the charge with completeness, (k, n) [-].
    first, last: rows between which the march runs. ignite, alight, burnt: rows at which the first
        lane starts to burn, all lanes burn, and all have burned out.
    """

    volume: Array
    change: Array
    duration: Array
    area: Array
    motored: Array
    closeness: Array
    burned: Array
    first: int
    last: int
    ignite: int
    alight: int
    burnt: int


@dataclass(frozen=True, kw_only=True, eq=False)
class Charge:
    """The charge of every lane: totals for the cylinder, not per kilogram.

    unburned, burning: energy coefficients before burning and their change on burning (7, n) [J].
    constant, constant_change: m R before burning and its change (n,) [J/K].
    dissociation: coefficients (8, n) of `equilibrium.dissociation` for the whole charge burned
        [J], or None for frozen products.
    pressure, temperature: trapped (n,) [Pa], [K]. wall: wall temperature (n,) [K].
    loss: constant factors of the heat-transfer coefficient (n,).
    speed: gas velocity before burning [m/s] (n,). swirl: Woschni's 3.24e-3 V_d T/(p V)
        [m/(s Pa)] (n,). squeeze: what compression adds to the velocity at top dead centre
        [m/s] (n,).
    """

    unburned: Array
    burning: Array
    constant: Array
    constant_change: Array
    dissociation: Array | None
    pressure: Array
    temperature: Array
    wall: Array
    loss: Array
    speed: Array
    swirl: Array
    squeeze: Array


def march(grid: Grid, charge: Charge, pressure: Array, temperature: Array) -> tuple[Array, Array]:
    """Fill `pressure` and `temperature` (k, n) from `first` to `last`.

    Returns the heat lost to the walls and the mismatch between the energy account and the energy
    of the final state, both (n,) [J].
    """
    lanes = charge.pressure.size
    pressure[: grid.first + 1] = charge.pressure
    temperature[: grid.first + 1] = charge.temperature
    step = _Step(grid, charge, lanes)
    for row in range(grid.first, grid.last):
        step.advance(row, pressure, temperature)
    return step.heat, step.mismatch(pressure[grid.last], temperature[grid.last])


class _Step:
    """Buffers and running account of one march."""

    def __init__(self, grid: Grid, charge: Charge, lanes: int) -> None:
        self.grid, self.charge = grid, charge
        self.c = charge.unburned.copy()
        self.mr = charge.constant.copy()
        self.buffers = np.empty((10, lanes))
        self.energy, _ = self._energy(charge.temperature)
        self.energy = self.energy.copy()
        self.heat = np.zeros(lanes)
        self.rate = self._loss_rate(grid.first, charge.pressure, charge.temperature).copy()
        self.old_rate = self.rate.copy()

    def advance(self, row: int, pressure: Array, temperature: Array) -> None:
        """Carry every lane over one step."""
        grid, charge = self.grid, self.charge
        p, t = pressure[row], temperature[row]
        new_p, new_t = pressure[row + 1], temperature[row + 1]
        a, b, c = self.buffers[5], self.buffers[6], self.buffers[7]
        np.multiply(self.rate, 1.5, out=a)
        np.multiply(self.old_rate, 0.5, out=b)
        np.subtract(a, b, out=a)
        np.multiply(a, grid.duration[row], out=a)
        self.heat += a
        self.energy -= a
        half = 0.5 * grid.change[row]
        np.multiply(p, half, out=a)
        self.energy -= a
        if grid.ignite <= row <= grid.burnt:
            self._mix(grid.burned[row + 1])
        np.multiply(t, 2.0, out=new_t)
        new_t -= temperature[row - 1] if row > grid.first else t
        np.minimum(new_t, _HOTTEST_GUESS, out=new_t)
        np.multiply(self.mr, 1 / grid.volume[row + 1], out=c)
        energy, slope = self._energy(new_t)
        split = charge.dissociation is not None and row >= grid.ignite
        if split:
            self._dissociate(row + 1, new_t)
        np.multiply(c, half, out=a)
        np.multiply(a, new_t, out=b)
        energy += b
        slope += a
        np.subtract(self.energy, energy, out=energy)
        np.divide(energy, slope, out=energy)
        new_t += energy
        if split:
            np.multiply(energy, self.buffers[9], out=energy)
            c += energy
        np.multiply(c, new_t, out=new_p)
        np.multiply(new_p, half, out=b)
        self.energy -= b
        self.rate, self.old_rate = self.old_rate, self.rate
        np.copyto(self.rate, self._loss_rate(row + 1, new_p, new_t))

    def mismatch(self, pressure: Array, temperature: Array) -> Array:
        """Energy of the final state less the energy account [J]."""
        energy, _ = self._energy(temperature)
        if self.charge.dissociation is not None:
            extra, _ = dissociation(self.charge.dissociation, temperature, pressure)
            energy = energy + self.grid.burned[self.grid.last] * extra
        return energy - self.energy

    def _dissociate(self, row: int, t: Array) -> None:
        """Add dissociation to energy and heat capacity (buffers 0, 1) and to dp/dT (buffer 7).

        The formula of `equilibrium.dissociation`; y is still in buffer 2. Leaves in buffer 9 how
        dp/dT moves with temperature.
        """
        k, energy, slope, y, steep, work = self.charge.dissociation, *self.buffers[:5]
        rate, du, rise = self.buffers[7], self.buffers[8], self.buffers[9]
        assert k is not None
        np.multiply(rate, t, out=rise)
        rise *= 1 / REFERENCE_PRESSURE
        np.log(rise, out=rise)
        np.multiply(k[4], rise, out=work)
        work += k[1]
        np.multiply(k[2], y, out=steep)
        np.add(steep, work, out=du)
        steep += du
        du *= y
        du += k[0]
        np.multiply(k[3], rise, out=work)
        du += work
        np.exp(du, out=du)
        du *= self.grid.burned[row]
        energy += du
        steep *= y
        steep *= y
        steep *= -1 / PIVOT
        np.multiply(steep, du, out=work)
        slope += work
        y *= k[6]
        y += k[5]
        rise *= k[7]
        y += rise
        y *= du
        y *= 1 / self.grid.volume[row]
        rate += y
        np.multiply(y, steep, out=rise)

    def _mix(self, burned: Array) -> None:
        """Set the mixture's coefficients for a burned fraction (n,)."""
        np.multiply(self.charge.burning, burned, out=self.c)
        self.c += self.charge.unburned
        np.multiply(self.charge.constant_change, burned, out=self.mr)
        self.mr += self.charge.constant

    def _energy(self, t: Array) -> tuple[Array, Array]:
        """Energy [J] and heat capacity [J/K] of the charge; in buffers 0 and 1."""
        c, (u, slope, y, _, work) = self.c, self.buffers[:5]
        np.add(t, PIVOT, out=y)
        np.divide(PIVOT, y, out=y)
        np.copyto(u, c[TERMS - 1])
        np.copyto(slope, c[TERMS - 1])
        for k in range(TERMS - 2, 3, -1):
            u *= y
            u += c[k]
            slope *= y
            slope += u
        u *= y
        u += c[3]
        slope *= y
        slope += u
        u *= y
        u += c[0]
        slope *= y
        slope *= y
        slope *= -1 / PIVOT
        np.multiply(c[2], t, out=work)
        slope += work
        work += c[1]
        slope += work
        work *= t
        u += work
        return u, slope

    def _loss_rate(self, row: int, p: Array, t: Array) -> Array:
        """Heat flow to the walls [W]; in buffer 3."""
        charge, grid = self.charge, self.grid
        h, work = self.buffers[3], self.buffers[4]
        np.multiply(charge.squeeze, grid.closeness[row], out=h)
        if row > grid.ignite:
            np.multiply(charge.pressure, grid.motored[row], out=work)
            np.subtract(p, work, out=work)
            work *= charge.swirl
            if row <= grid.alight:
                work *= grid.burned[row] > 0
            np.maximum(h, work, out=h)
        h += charge.speed
        h *= p
        np.log(h, out=h)
        h *= 0.8
        np.log(t, out=work)
        work *= WOSCHNI_TEMPERATURE_EXPONENT
        h -= work
        np.exp(h, out=h)
        h *= charge.loss
        h *= grid.area[row]
        np.subtract(t, charge.wall, out=work)
        h *= work
        return h
