"""One bibliography: every source key used in a docstring, a test or a result lives here."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Source:
    """A published work or a named practice, and how sure we are of what we took from it."""

    title: str
    how_sure: str
    """One of 'seen', 'secondary', 'from memory', 'common practice, no source'."""


SOURCES: dict[str, Source] = {
    "HEYWOOD": Source(
        title="J. B. Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, 1988",
        how_sure="from memory",
    ),
    "KTM": Source(
        title="R. S. Khurmi & J. K. Gupta, Theory of Machines, ch. 15 (inertia forces in "
        "reciprocating parts)",
        how_sure="secondary",
    ),
    "KMD": Source(
        title="R. S. Khurmi & J. K. Gupta, A Textbook of Machine Design, ch. 32 (engine parts)",
        how_sure="secondary",
    ),
    "SHIGLEY": Source(
        title="R. G. Budynas & J. K. Nisbett, Shigley's Mechanical Engineering Design, "
        "McGraw-Hill, 9th ed., 2011",
        how_sure="from memory",
    ),
    "KOLCHIN": Source(
        title="A. Kolchin & V. Demidov, Design of Automotive Engines, Mir, 1984",
        how_sure="from memory",
    ),
    "RAIMONDI-BOYD": Source(
        title="A. A. Raimondi & J. Boyd, A Solution for the Finite Journal Bearing and its "
        "Application to Analysis and Design, parts I-III, ASLE Transactions 1, 1958",
        how_sure="from memory",
    ),
    "OCVIRK": Source(
        title="F. W. Ocvirk, Short-Bearing Approximation for Full Journal Bearings, NACA TN 2808, "
        "1952",
        how_sure="from memory",
    ),
    "BOOKER": Source(
        title="J. F. Booker, Dynamically Loaded Journal Bearings, ASME J. Lubrication "
        "Technology, 1971",
        how_sure="from memory",
    ),
    "HARNOY": Source(
        title="A. Harnoy, Bearing Design in Machinery, Marcel Dekker, 2003, ch. 8",
        how_sure="secondary",
    ),
    "TRIBOLOGY-HANDBOOK": Source(
        title="M. J. Neale (ed.), The Tribology Handbook, 2nd ed., Butterworth-Heinemann, 1995",
        how_sure="seen",
    ),
    "JINDAL": Source(
        title="U. C. Jindal, Machine Design, Pearson, 2010",
        how_sure="secondary",
    ),
    "ASTM-D341": Source(
        title="ASTM D341, Viscosity-Temperature Equations and Charts for Liquid Petroleum or "
        "Hydrocarbon Products",
        how_sure="secondary",
    ),
    "SAE-J300": Source(
        title="SAE J300:2015, Engine Oil Viscosity Classification",
        how_sure="secondary",
    ),
    "REYNOLDS-FD": Source(
        title="Finite-difference solution of Reynolds' equation with free film rupture, repeated "
        "in the tests of this project",
        how_sure="seen",
    ),
    "VDI2230": Source(
        title="VDI 2230 Part 1, Systematic calculation of highly stressed bolted joints, 2001 "
        "and later",
        how_sure="secondary",
    ),
    "ISO724": Source(
        title="ISO 724 and ISO 68-1, ISO general-purpose metric screw threads: basic "
        "dimensions and profile",
        how_sure="from memory",
    ),
    "ISO261": Source(
        title="ISO 261, ISO general-purpose metric screw threads: general plan",
        how_sure="from memory",
    ),
    "ISO273": Source(
        title="ISO 273, Fasteners: clearance holes for bolts and screws",
        how_sure="from memory",
    ),
    "ISO898-1": Source(
        title="ISO 898-1:2013, Mechanical properties of fasteners: bolts, screws and studs",
        how_sure="secondary",
    ),
    "ISO965": Source(
        title="ISO 965-1, ISO general-purpose metric screw threads: tolerances",
        how_sure="from memory",
    ),
    "ISO4014": Source(
        title="ISO 4014, Hexagon head bolts, product grades A and B",
        how_sure="from memory",
    ),
    "ISO16047": Source(
        title="ISO 16047, Fasteners: torque and clamp force testing",
        how_sure="from memory",
    ),
    "ASME-B1.1": Source(
        title="ASME B1.1, Unified inch screw threads (UN, UNR thread form)",
        how_sure="secondary",
    ),
    "EN1665": Source(
        title="EN 1665, hexagon bolts with flange, heavy series",
        how_sure="from memory",
    ),
    "DIN8140": Source(
        title="DIN 8140, wire thread inserts for ISO metric screw threads",
        how_sure="from memory",
    ),
    "ASME-B18": Source(
        title="ASME B18.2.1 hexagon bolts and B18.2.8 clearance holes",
        how_sure="from memory",
    ),
    "SAE-J429": Source(
        title="SAE J429, Mechanical and material requirements for externally threaded fasteners",
        how_sure="secondary",
    ),
    "FED-STD-H28": Source(
        title="FED-STD-H28/2, Screw-thread standards: thread shear areas",
        how_sure="secondary",
    ),
    "BICKFORD": Source(
        title="J. H. Bickford, An Introduction to the Design and Behavior of Bolted Joints, "
        "Marcel Dekker, 3rd ed., 1995",
        how_sure="secondary",
    ),
    "WILEMAN": Source(
        title="J. Wileman, M. Choudhury & I. Green, Computation of Member Stiffness in Bolted "
        "Connections, ASME J. Mechanical Design 113, 1991",
        how_sure="secondary",
    ),
    "MACHINERY": Source(
        title="Machinery's Handbook, Industrial Press: methods of applying and measuring preload",
        how_sure="secondary",
    ),
    "GASKET-NOTE": Source(
        title="A gasket maker's technical note on tightening cylinder-head bolts",
        how_sure="secondary",
    ),
    "WENTZELL": Source(
        title="T. H. Wentzell, Machine Design, ch. 6 (worked examples, in a transcription)",
        how_sure="secondary",
    ),
    "BHANDARI": Source(
        title="V. B. Bhandari, Design of Machine Elements, ch. 7 (worked examples, in a "
        "transcription)",
        how_sure="secondary",
    ),
    "BOLT-TEMPERATURE": Source(
        title="E. Lee, How temperature changes bolt preload, a trade-press article of 2010, "
        "and a structural manual of 1977 in the same form",
        how_sure="secondary",
    ),
    "HETENYI": Source(
        title="M. Hetényi, Beams on Elastic Foundation, 1946", how_sure="from memory"
    ),
    "TIMOSHENKO": Source(
        title="S. Timoshenko, Strength of Materials, Part II (beams on elastic foundation, shear "
        "deflection)",
        how_sure="from memory",
    ),
    "HEAD-CLAMP-ARTICLE": Source(
        title="A trade-press article on sealing cylinder heads: clamp about three times the "
        "gas force",
        how_sure="secondary",
    ),
    "CHEN_FLYNN": Source(
        title="S. K. Chen & P. F. Flynn, Development of a Single Cylinder Compression Ignition "
        "Research Engine, SAE 650733, 1965",
        how_sure="from memory",
    ),
    "FMEP_REFITS": Source(
        title="Re-fits of the Chen and Flynn form for spark engines in the open literature, as "
        "ranges",
        how_sure="from memory",
    ),
    "BARNES_MOSS": Source(
        title="H. W. Barnes-Moss, A Designer's Viewpoint, IMechE C343/73, 1975",
        how_sure="from memory",
    ),
    "PATTON": Source(
        title="K. J. Patton, R. G. Nitschke & J. B. Heywood, Development and Evaluation of a "
        "Friction Model for Spark-Ignition Engines, SAE 890836, 1989",
        how_sure="from memory",
    ),
    "COMBUSTION_DATA_A": Source(
        title="Open in-cylinder data of a university laboratory: 1.39-litre petrol four, 1,200 "
        "rpm, 87 N·m",
        how_sure="seen",
    ),
    "COMBUSTION_DATA_C": Source(
        title="Open in-cylinder data of a university laboratory: 3.0-litre turbocharged diesel "
        "four, 1,600 rpm, 100 N·m",
        how_sure="seen",
    ),
    "RHODES_KECK": Source(
        title="D. B. Rhodes & J. C. Keck, Laminar Burning Speed Measurements of "
        "Indolene-Air-Diluent Mixtures, SAE 850047, 1985",
        how_sure="from memory",
    ),
    "HARDENBERG_HASE": Source(
        title="H. O. Hardenberg & F. W. Hase, An Empirical Formula for Computing the Pressure "
        "Rise Delay of a Fuel, SAE 790493, 1979",
        how_sure="from memory",
    ),
    "HEYWOOD2018": Source(
        title="J. B. Heywood, Internal Combustion Engine Fundamentals, 2nd ed., McGraw-Hill, 2018",
        how_sure="secondary",
    ),
    "PHASING_CYCLES": Source(
        title="Closed cycles with a Wiebe burn and heat loss, integrated apart from this "
        "package and repeated in its tests",
        how_sure="seen",
    ),
    "DOUAUD_EYZAT": Source(
        title="A. M. Douaud & P. Eyzat, Four-Octane-Number Method for Predicting the Anti-Knock"
        " Behavior of Fuels and Engines, SAE 780080, 1978",
        how_sure="from memory",
    ),
    "LIVENGOOD_WU": Source(
        title="J. C. Livengood & P. C. Wu, Correlation of Autoignition Phenomena in Internal "
        "Combustion Engines and Rapid Compression Machines, 5th Symposium on Combustion, "
        "1955",
        how_sure="from memory",
    ),
    "BLEND_OCTANE": Source(
        title="J. E. Anderson & T. J. Wallington, Novel Method to Estimate the Octane Ratings "
        "of Ethanol-Gasoline Mixtures Using Base Fuel Properties, Energy & Fuels, 2020, "
        "doi 10.1021/acs.energyfuels.9b04204",
        how_sure="seen",
    ),
    "OCTANE_INDEX": Source(
        title="G. T. Kalghatgi, Fuel Anti-Knock Quality, SAE 2001-01-3584 and 2005-01-0239: octane"
        " index RON - K S, K below 0 in modern engines",
        how_sure="from memory",
    ),
    "EVAPORATION": Source(
        title="Balance of energy of air and evaporating fuel; what the charge gives of it as found"
        " for ethanol blends, SAE 2012-01-1275 and 2012-01-1277",
        how_sure="from memory",
    ),
    "ABNORMAL_CYCLES": Source(
        title="Published rates of low-speed pre-ignition in boosted spark engines, as orders of"
        " magnitude",
        how_sure="from memory",
    ),
    "ORDER_STATISTICS": Source(
        title="L. H. C. Tippett, On the Extreme Individuals and the Range of Samples Taken from"
        " a Normal Population, Biometrika 17, 1925",
        how_sure="from memory",
    ),
    "SOBOL": Source(
        title="I. M. Sobol', On the Distribution of Points in a Cube and the Approximate "
        "Evaluation of Integrals, USSR Comp. Math. Math. Phys. 7, 1967",
        how_sure="from memory",
    ),
    "MATEKUNAS": Source(
        title="F. A. Matekunas, Modes and Measures of Cyclic Combustion Variability, SAE "
        "830337, 1983",
        how_sure="from memory",
    ),
    "SAE_J1349": Source(
        title="SAE J1349, Engine Power Test Code, Spark Ignition and Compression Ignition, Net "
        "Power Rating (June 1990; August 2004)",
        how_sure="secondary",
    ),
    "ISO_1585": Source(
        title="ISO 1585, Road vehicles, Engine test code, Net power; same factors as directive "
        "80/1269/EEC and UN Regulation 85",
        how_sure="secondary",
    ),
    "DIN_70020": Source(
        title="DIN 70020-6, Automotive engineering, Maximum speed, power and torque",
        how_sure="secondary",
    ),
    "SAE_J607": Source(
        title="SAE J607, Small Spark Ignition Engine Test Code (withdrawn)",
        how_sure="secondary",
    ),
    "BUCK": Source(
        title="A. L. Buck, New Equations for Computing Vapor Pressure and Enhancement Factor, "
        "J. Applied Meteorology 20, 1981, coefficients of 1996",
        how_sure="from memory",
    ),
    "IAPWS_IF97": Source(
        title="IAPWS R7-97, Industrial Formulation 1997 for the Thermodynamic Properties of Water "
        "and Steam",
        how_sure="from memory",
    ),
    "NEWTON": Source(
        title="Newton's second law for rotation",
        how_sure="seen",
    ),
    "KHURMI_GUPTA": Source(
        title="R. S. Khurmi & J. K. Gupta, A Textbook of Machine Design, Eurasia, chapter 32",
        how_sure="secondary",
    ),
    "NASA_TM_4513": Source(
        title="B. J. McBride, S. Gordon, M. A. Reno, Coefficients for Calculating Thermodynamic "
        "and Transport Properties of Individual Species, NASA TM-4513, 1993",
        how_sure="secondary",
    ),
    "MIYAMOTO": Source(
        title="N. Miyamoto et al., Description and analysis of diesel engine rate of combustion "
        "and performance using Wiebe's functions, SAE 850107, 1985",
        how_sure="from memory",
    ),
    "WATSON": Source(
        title="N. Watson, A. D. Pilley, M. Marzouk, A combustion correlation for diesel engine "
        "simulation, SAE 800029, 1980",
        how_sure="from memory",
    ),
    "WOSCHNI": Source(
        title="G. Woschni, A universally applicable equation for the instantaneous heat transfer "
        "coefficient in the internal combustion engine, SAE 670931, 1967",
        how_sure="secondary",
    ),
    "HUBER": Source(
        title="K. Huber, G. Woschni, K. Zeilinger, Investigations on heat transfer in internal "
        "combustion engines under low load and motoring conditions, SAE 905018, 1990",
        how_sure="from memory",
    ),
    "MERKER": Source(
        title="G. P. Merker, C. Schwarz, G. Stiesch, F. Otto, Simulating Combustion, Springer, "
        "2006, section on heat transfer at the combustion chamber walls",
        how_sure="from memory",
    ),
    "PISTON-MAKER": Source(
        title="A piston maker's public page on diesel pistons: up to 210 bar at mean pressures up "
        "to 31 bar in cars; a teaching page: about 180 bar for passenger-car diesels",
        how_sure="secondary",
    ),
    "FUEL_413": Source(
        title="An open engine study, Fuel 413 (2026) 138211: steel piston permitted to 180 bar",
        how_sure="seen",
    ),
    "AFDC": Source(
        title="US Department of Energy, Alternative Fuels Data Center, Properties of Fuels",
        how_sure="seen",
    ),
    "GUM": Source(
        title="JCGM 100:2008, Evaluation of measurement data: Guide to the expression of "
        "uncertainty in measurement (GUM)",
        how_sure="from memory",
    ),
    "PISTON-SPEED-PAGE": Source(
        title="A public page that lists mean piston speeds by kind of engine (a tertiary source)",
        how_sure="secondary",
    ),
    "PRACTICE": Source(title="Common practice in the trade", how_sure="common practice, no source"),
}
