"""What the package was checked against, and what it leaves out: facts for reports and readers."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Check:
    """One comparison with something outside the project."""

    what: str
    against: str
    closeness: str
    """How near it came, or how near the test asks it to be."""
    test: str
    """The file in the project's tests that repeats it."""


CHECKS: tuple[Check, ...] = (
    Check(
        what="Peak pressure of a measured petrol engine",
        against="open laboratory data, 1.4-litre four, 1,200 rpm: 35.8 bar; charge temperature, "
        "residual gas and valve timing were not published and are assumed",
        closeness="34.0 bar, −5.1 %, the unsafe side; nothing was tuned to it",
        test="tests/physics/cylinder/test_closed_cycle_measured.py",
    ),
    Check(
        what="Peak pressure of a measured diesel engine",
        against="open laboratory data, 3.0-litre turbo diesel, 1,600 rpm: 69.7 bar; lambda follows "
        "from its boost",
        closeness="67.1 bar, −3.7 %, the unsafe side; nothing was tuned to it",
        test="tests/physics/cylinder/test_closed_cycle_measured.py",
    ),
    Check(
        what="Closed cycle, 44 cases over its range",
        against="a second cycle that shares no code: Cantera's species energies, integrated by "
        "scipy",
        closeness="peak and trapped pressure within 0.2 %; with dissociation within 0.3 %",
        test="tests/physics/cylinder/test_closed_cycle_independent.py",
    ),
    Check(
        what="Heat capacity and its ratio for mixtures and burned gas",
        against="Cantera 3, NASA polynomials, 300 to 2,800 K",
        closeness="within 0.5 %",
        test="tests/physics/cylinder/test_gas.py",
    ),
    Check(
        what="Dissociation of burned gas",
        against="Cantera's equilibrium solver, 1,800 to 3,000 K, 5 to 200 bar",
        closeness="mole fractions within 0.1 %",
        test="tests/physics/cylinder/test_equilibrium.py",
    ),
    Check(
        what="Speed and acceleration of the piston, forces along the rod",
        against="exact derivatives by sympy; Khurmi & Gupta, Theory of Machines, examples 15.3 to "
        "15.21",
        closeness="derivatives to 1e-11; the book's results to its printed digits, or to the error "
        "of its two-term series",
        test="tests/physics/running_gear/test_slider_crank.py",
    ),
    Check(
        what="Thread and bolt areas, proof and tensile loads",
        against="ISO 724, ISO 898-1, ASME B1.1, SAE J429 tables",
        closeness="to the digits printed; tensile loads from memory within 0.3 %",
        test="tests/physics/head_joint/test_property_class.py",
    ),
    Check(
        what="Preload from tightening torque, and at yield",
        against="VDI 2230 tables; Shigley's Mechanical Engineering Design, examples of chapter 8",
        closeness="preload within 0.5 %, torque within 1.5 %",
        test="tests/physics/head_joint/test_tightening.py",
    ),
    Check(
        what="Load factor and separation of a bolted joint",
        against="Shigley examples 8-4 and 8-5; Bhandari example 7.16",
        closeness="to the digits printed",
        test="tests/physics/head_joint/test_joint.py",
    ),
    Check(
        what="Oil-film index of the big end",
        against="Raimondi & Boyd's table; an own finite-volume solution of Reynolds' equation",
        closeness="film within 2 % of that solution between the table's points",
        test="tests/physics/running_gear/test_big_end.py",
    ),
    Check(
        what="Correction standards of dynamometers",
        against="formulas seen second-hand; water vapour against steam tables and CoolProp",
        closeness="factors to 1e-4, vapour pressure within 0.1 %",
        test="tests/physics/test_dyno.py",
    ),
    Check(
        what="The quick surface that stands in for direct cycles",
        against="direct integration of the same simulated engines",
        closeness="5, 50 and 95 % points of peak pressure within 0.3 %; 0.5 % where an "
        "unthrottled diesel has a lambda of 2.2",
        test="tests/study/cycle/test_response_tables.py",
    ),
    Check(
        what="The limit table is the best under its rules",
        against="every whole-step table by dynamic programming, and a plain linear program",
        closeness="nothing better found",
        test="tests/study/limit_curve/test_optimum.py",
    ),
)

NOT_CHECKED = (
    "No open data were found of a boosted petrol engine with torque, phasing and peak pressure, "
    "nor of an engine taken to head lift or a bent rod: the chances were never held against "
    "failures that happened. Take them as a ranking and an order of size."
)

LEFT_OUT: tuple[tuple[str, str], ...] = (
    ("Torsional vibration of the crankshaft", "adds to bearing, crank and drive loads near its "
     "natural speeds"),
    ("Crankshaft and main bearings", "bending, fillets and main-bearing films are not judged"),
    ("Fillets and flaws of the rod", "the shank is judged as a plain bar; a fillet, a forging flaw "
     "or a scratch may crack earlier"),
    ("Uneven knock between cylinders", "all cylinders share one knock model; the worst may be "
     "hotter, leaner or earlier"),
    ("Heat in pistons, valves and head", "thermal gradients, local boiling and hot cracks have no "
     "number here"),
    ("Gasket creep over years", "a first loss of preload is counted, years of heat cycles at one "
     "spot are not"),
    ("Warped faces and damaged threads", "faces are taken as flat, threads as sound"),
    ("Aerated, diluted or old oil", "the film is judged with sound oil of the stated grade"),
    ("Turbocharger speed and exhaust heat", "neither is limited here"),
    ("Clutch, gearbox and driveline", "a limit for the engine may still be too much for them"),
)  # fmt: skip
"""Effects without a number in any result: what, and what it may do."""
