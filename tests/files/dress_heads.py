"""What people head columns with: each head with its channel, size and what it says of the test."""

from collections.abc import Iterator

import numpy as np
from dresses import AMBIENT, HP, LAM, LB_FT, MAP, PS, PSI, RPM, Col, N, Sheet, T

WHEEL, HUB, CRANK = {"measured_at": "wheel"}, {"measured_at": "hub"}, {"measured_at": "crank"}
SAE, RAW = {"correction": "J1349"}, {"correction": "none"}
DEG, KELVIN = np.pi / 180, 273.15

GROUPS: tuple[tuple[str, float, float, dict[str, str], str], ...] = (
    ("speed", RPM, 0, {}, "RPM; EngineRPM; Engine RPM; Eng RPM; Eng Speed [rpm]; EngSpeed [rpm]; "
     "n [1/min]; n [rev/min]; Engine_Speed [min-1]; Motor speed [U/min]; N_ENG [rpm]; "
     "Crank speed [rpm]; engine speed [r/min]; ENGINE SPEED (RPM); Speed [rpm]; rpm [1/min]"),
    ("speed", 1000 * RPM, 0, {}, "engine speed [krpm]; RPM [x1000]; rpm x1000; Engine RPM (x1000); "
     "speed [1000 rpm]; RPM x 1000; RPM × 1000; kRPM"),
    ("speed", 1, 0, {}, "engine speed [rad/s]"),
    ("speed", 60 * RPM, 0, {}, "engine speed [rev/s]; engine speed [Hz]"),
    ("torque", 1, 0, {}, "Torque [Nm]; TQ [N.m]; Trq [N·m]; Moment [N*m]; Md [Nm]; torque (N-m); "
     "Torque_Nm; Nm; run 1 torque [Nm]; torque [NM]; measured torque [Nm]; T [Nm]; M [Nm]"),
    ("torque", LB_FT, 0, {}, "Torque [lb-ft]; TQ [ft.lbs]; Trq [lbf*ft]; torque [ft-lb]; "
     "torque [lbft]; Torque (ft·lbf)"),
    ("torque", 10, 0, {}, "Torque [daNm]; Md [daN·m]"),
    ("torque", 9.80665, 0, {}, "Torque [mkg]; torque [kgf·m]; Torque [kgm]; torque [m·kg]"),
    ("torque", 1, 0, WHEEL, "wheel torque [Nm]; torque (at the wheels) [Nm]; WTQ [Nm]; RWTQ [Nm]; "
     "torque at wheels [Nm]; torque [Nm wheel]; torque [Nm, wheels]; rear wheel torque [Nm]; "
     "torque rear wheels [Nm]; torque axle [Nm]; torque (rollers) [Nm]; roller torque [Nm]; "
     "Torque_Wheel [Nm]; WheelTorque [Nm]; front wheel torque [Nm]; driven wheels torque [Nm]; "
     "torque @ wheels [Nm]; Wheel [Nm]; TORQUE (WHEEL) (NM)"),
    ("torque", 1, 0, HUB, "hub torque [Nm]; torque (hubs) [Nm]; torque at the hubs [Nm]; "
     "torque [Nm at hub]"),
    ("torque", 1, 0, CRANK, "flywheel torque [Nm]; Engine torque [Nm]; torque (crank) [Nm]; "
     "torque [Nm crank]; crankshaft torque [Nm]; torque at flywheel [Nm]; EngTorque [Nm]"),
    ("torque", 1, 0, RAW, "torque uncorr. [Nm]; torque (uncorrected) [Nm]; torque [Nm uncorr]; "
     "raw torque [Nm]; observed torque [Nm]; torque obs. [Nm]"),
    ("torque", 1, 0, SAE, "SAE torque [Nm]; torque [Nm SAE]; torque (SAE) [Nm]; "
     "torque SAE corr. [Nm]; corrected torque J1349 [Nm]"),
    ("torque", 1, 0, {"correction": "J607"}, "torque STD [Nm]"),
    ("torque", 1, 0, {"correction": "DIN70020"}, "torque (DIN 70020) [Nm]"),
    ("torque", 1, 0, {**WHEEL, **SAE}, "SAE wheel torque [Nm]; torque (SAE) at the wheels [Nm]"),
    ("power", HP, 0, {}, "bhp; Power [hp]; power (HP); Power_hp; Horsepower"),
    ("power", HP, 0, WHEEL, "WHP; RWHP; wheel hp; hp at the wheels; power [hp wheel]; power [whp]; "
     "rear wheel power [hp]; wheel horsepower; Wheel [hp]; power hp (rear wheels)"),
    ("power", PS, 0, {}, "power [CV]; power [PS]; power [ch]; power [hp(M)]; PS"),
    ("power", 1e3, 0, {}, "power [kW]; kW; Pwr (kW); P [kW]"),
    ("power", 1, 0, {}, "power [W]"),
    ("power", 1e3, 0, HUB, "power at the hubs [kW]"),
    ("power", 1e3, 0, CRANK, "EngPower [kW]; flywheel power [kW]"),
    ("power", HP, 0, SAE, "SAE power [hp]; power [hp SAE]"),
    ("power", 1e3, 0, RAW, "power uncorr. [kW]"),
    ("manifold_pressure", 1e3, 0, {}, "MAP [kPa]; boost pressure absolute [kPa]; "
     "boost (abs) [kPa]; MAP (kPa abs); intake manifold pressure [kPa]; MAP_kPa"),
    ("manifold_pressure", 1e5, 0, {}, "MAP [bar]; boost abs [bar]; boost [bar(a)]; MAP bar abs"),
    ("manifold_pressure", 100, 0, {}, "absolute boost [mbar]; MAP [hPa]"),
    ("manifold_pressure", PSI, 0, {}, "MAP [psia]; MAP [psi abs]"),
    ("manifold_pressure", PSI, AMBIENT, {}, "boost [psi]; MAP [psig]; MAP gauge [psi]"),
    ("manifold_pressure", 1e5, AMBIENT, {}, "boost [bar]; boost rel. [bar]; MAP [barg]; "
     "Boost (bar, relative); charge pressure [bar]"),
    ("manifold_pressure", 1e3, AMBIENT, {}, "MAP gauge [kPa]; manifold pressure rel [kPa]"),
    ("ignition_advance", DEG, 0, {}, "ignition [° BTDC]; spark BTDC [deg]; timing [°]; "
     "spark advance [deg]; Ign timing [degrees]; ignition [°CA BTDC]; Ignition before TDC [deg]"),
    ("ignition_advance", -DEG, 0, {}, "ignition [deg ATDC]; ignition ATDC [deg]; "
     "ign angle (ATDC) [deg]; ignition after TDC [deg]; ignition [°CA aTDC]"),
    ("coolant_pressure", 1e5, 0, {}, "coolant pressure [bar]; Water pressure [barg]"),
    ("coolant_pressure", 1e3, -AMBIENT, {}, "coolant pressure abs [kPa]; "
     "coolant pressure [kPa abs]; coolant pressure (absolute) [kPa]"),
    ("coolant_pressure", PSI, 0, {}, "coolant press. [psi]"),
    ("coolant_pressure", 1e5, -AMBIENT, {}, "water pressure (absolute) [bar]"),
    ("intake_temperature", 1, KELVIN, {}, "IAT [degC]; IAT [ºC]; IAT [C]; IAT [˚C]; IAT (deg C); "
     "charge temp. [°C]; IAT C; intake temp C"),
    ("intake_temperature", 5 / 9, 459.67 * 5 / 9, {}, "IAT [°F]; intake air temp [deg F]"),
    ("intake_temperature", 1, 0, {}, "charge temp. [K]"),
    ("lambda_", 1, 0, {}, "Lambda; λ [-]; Lambda [λ]; lambda 1; measured lambda; LAMBDA [-]"),
    ("lambda_", 1 / 14.7, 0, {}, "AFR (petrol)"),
    ("speed", RPM, 0, {}, "Drehzahl [1/min]; Motordrehzahl [U/min]; Régime moteur [tr/min]; "
     "Giri motore [giri/min]; Régimen [rpm]; Toerental [omw/min]; Varvtal [varv/min]; "
     "Obroty silnika [obr/min]; Rotação [rpm]; Regime de rotação [rpm]; n_Mot [1/min]; R.P.M.; "
     "n-Motor [U/min]"),
    ("speed", 1000 * RPM, 0, {}, "RPM/1000; Drehzahl [1000/min]; Motordrehzahl [x1000 1/min]"),
    ("torque", 1, 0, {}, "Drehmoment [Nm]; Couple [N.m]; Coppia [Nm]; Par [Nm]; Koppel [Nm]; "
     "Vridmoment [Nm]; Moment obrotowy [Nm]; Binário [Nm]; M-Norm [Nm]; Normdrehmoment [Nm]; "
     "Torque (newton metres)"),
    ("torque", 9.80665, 0, {}, "Couple [m.kg]; Coppia [kgm]; Torque [kgfm]"),
    ("torque", 1, 0, CRANK, "Motordrehmoment [Nm]; Couple moteur [Nm]; Par motor [Nm]; "
     "Coppia motore [Nm]; Drehmoment (Kurbelwelle) [Nm]"),
    ("torque", 1, 0, WHEEL, "Radmoment [Nm]; Drehmoment am Rad [Nm]; Couple à la roue [Nm]; "
     "Coppia alla ruota [Nm]; Par a la rueda [Nm]; Koppel wielen [Nm]"),
    ("torque", 1, 0, RAW, "Drehmoment unkorrigiert [Nm]"),
    ("power", PS, 0, {}, "Leistung [PS]; Puissance [ch]; Potenza [CV]; Potencia [CV]; "
     "Vermogen [pk]; Effekt [hk]; Moc [KM]; Potência [cv]; P-Norm [PS]; Normleistung [PS]"),
    ("power", PS, 0, WHEEL, "P-Rad [PS]"), ("power", PS, 0, CRANK, "P-Motor [PS]"),
    ("power", HP, 0, {}, "B.H.P."),
    ("power", HP, 0, SAE, "Corrected Power SAE J1349 Rev 2004 (hp)"),
    ("power", 1e3, 0, WHEEL, "Radleistung [kW]; Puissance aux roues [kW]"),
    ("power", 1e3, 0, CRANK, "Motorleistung [kW]"),
    ("manifold_pressure", 1e5, AMBIENT, {}, "Ladedruck [bar]; Ladedruck relativ [bar]; "
     "Pression de suralimentation [bar]"),
    ("manifold_pressure", 100, 0, {}, "Ladedruck absolut [mbar]; Saugrohrdruck [mbar]"),
    ("intake_temperature", 1, KELVIN, {}, "Ansauglufttemperatur [°C]; Ladelufttemperatur [°C]"),
)  # fmt: skip
"""Channel, size and offset in SI, facts that the heads tell, heads."""


def layouts(cols: tuple[Col, ...]) -> Iterator[tuple[str, tuple[tuple[str, ...], ...]]]:
    """Ways to write names and units of the same columns."""
    names = tuple(c.name for c in cols)
    yield "brackets", (tuple(f"{c.name} [{c.unit}]" for c in cols),)
    yield "parentheses", (tuple(f"{c.name} ({c.unit})" for c in cols),)
    yield "slash", (tuple(f"{c.name} / {c.unit}" for c in cols),)
    yield "units row", (names, tuple(c.unit for c in cols))
    yield "units row in brackets", (names, tuple(f"[{c.unit}]" for c in cols))
    yield "upper case", (tuple(f"{c.name.upper()} ({c.unit})" for c in cols),)
    yield "camel case", (tuple(f"{c.name.title().replace(' ', '')} [{c.unit}]" for c in cols),)
    yield "underscores", (tuple(f"{c.name.replace(' ', '_')}_[{c.unit}]" for c in cols),)
    yield "comment", (tuple(("# " if i == 0 else "") + f"{c.name} [{c.unit}]"
                            for i, c in enumerate(cols)),)  # fmt: skip
    yield "types row", (names, tuple(c.unit for c in cols), ("float",) * len(cols))


def heads() -> Iterator[tuple[str, Sheet]]:
    """Every head in a table of the plain other columns, in one row and with a row of units."""
    for channel, size, offset, facts, texts in GROUPS:
        for text in texts.split("; "):
            name, _, unit = text.removesuffix("]").partition(" [")
            col = Col(name, unit, channel, size, offset)
            others = {"speed": (T, LAM), "torque": (N,), "power": (N,)}.get(channel, (N, T))
            cols = (col, *others) if channel == "speed" else (*others, col)
            if channel in ("power", "torque"):
                cols = (*cols, MAP)
            row = tuple(f"{c.name} [{c.unit}]" if c.unit else c.name for c in cols)
            yield text, Sheet(cols=cols, heads=(row,), facts=facts)
            if unit:
                rows = (tuple(c.name for c in cols), tuple(c.unit for c in cols))
                yield f"{text}, units row", Sheet(cols=cols, heads=rows, facts=facts)
