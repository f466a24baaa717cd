"""The columns of an assessment by speed: what the run is and what it asks, at each speed."""

from torquerisk.quantities import BAR, DEGREE, KILO
from torquerisk.show.words import prose
from torquerisk.show.words.columns import At, Column, Shown, speed, triple
from torquerisk.show.words.limit_columns import titles_of
from torquerisk.show.words.prose import Units
from torquerisk.study.answers.results import Assessment

COLUMNS: tuple[Column[At[Assessment]], ...] = (
    speed(lambda r: r.of.speed[r.k]),
    Column(key="torque_n_m", value=lambda r: r.of.torque[r.k], measure=prose.torque_unit,
           text="torque\n{unit}", name="torque"),
    Column(key="power_kw", value=lambda r: r.of.power[r.k], size=KILO, measure=prose.power_unit,
           text="power\n{unit}"),
    Column(key="bmep_bar", value=lambda r: r.of.bmep[r.k], size=BAR, unit="bar", decimals=1,
           text="BMEP\nbar", name="BMEP"),
    Column(key="imep_gross_bar", value=lambda r: r.of.imep_gross[r.k], size=BAR),
    Column(key="peak_pressure_bar", value=lambda r: triple(r.of.peak_pressure, r.k), size=BAR,
           unit="bar", name="peak pressure", words=True),
    Column(key="peak", json=False, value=lambda r: triple(r.of.peak_pressure, r.k), size=BAR,
           text="peak\nbar", part="middle"),
    Column(key="peak_range", json=False, value=lambda r: triple(r.of.peak_pressure, r.k),
           size=BAR, text="5 to 95 %\nbar", part="range"),
    Column(key="worst_pressure_bar", value=lambda r: triple(r.of.worst_pressure, r.k), size=BAR),
    Column(key="ca50_deg", value=lambda r: triple(r.of.ca50, r.k), size=DEGREE),
    Column(key="gas_force_kn", value=lambda r: r.of.gas_force[r.k], size=KILO),
    Column(key="clamp_kn", value=lambda r: r.of.clamp[r.k], size=KILO),
    Column(key="clamp_ratio", value=lambda r: r.of.clamp_ratio[r.k], decimals=2,
           text="clamp/\ngas", name="clamp over gas force"),
    Column(key="rod_compression_kn", value=lambda r: r.of.rod_compression[r.k], size=KILO,
           unit="kN", name="rod pushed"),
    Column(key="rod_tension_kn", value=lambda r: r.of.rod_tension[r.k], size=KILO, unit="kN",
           name="rod pulled"),
    Column(key="chance_any", value=lambda r: r.of.chance_any[r.k], text="fail, of\n{draws}",
           name="exceed", report_unit="of {draws}", counted=True),
    Column(key="governing", value=lambda r: r.of.governing[r.k], text="limited by",
           name="limited by", words=True, cell=lambda r, shown: shown.titles[r.of.governing[r.k]]),
    Column(key="ceiling_torque_n_m", value=lambda r: r.of.ceiling[r.k],
           measure=prose.torque_unit, name="at accepted chance",
           cell=lambda r, shown: prose.open_or_none(
               float(r.of.ceiling[r.k]), prose.torque_unit(shown.units).size)),
    Column(key="ceiling_state", value=lambda r: prose.torque_state(float(r.of.ceiling[r.k]))),
)  # fmt: skip


def shown_of(a: Assessment, units: Units) -> Shown:
    """How the cells of an assessment are written."""
    return Shown(units=units, titles=titles_of(a), draws=a.model.every.count, pulls=a.policy.pulls)
