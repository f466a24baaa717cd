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
        title="R. G. Budynas & J. K. Nisbett, Shigley's Mechanical Engineering Design, McGraw-Hill, "
        "9th ed., 2011",
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
    "BOOTH": Source(
        title="J. F. Booth, The Mobility Method for Journal Bearing Solutions, ASME J. Lubrication "
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
    "AFZAL-FATEMI": Source(
        title="A. Afzal & A. Fatemi, A Comparative Study of Fatigue Behavior and Life Predictions "
        "of Forged Steel and PM Connecting Rods, SAE 2004-01-1529",
        how_sure="from memory",
    ),
    "REYNOLDS-FD": Source(
        title="Finite-difference solution of Reynolds' equation with free film rupture, repeated in "
        "the tests of this project",
        how_sure="seen",
    ),
    "PRACTICE": Source(title="Common practice in the trade", how_sure="common practice, no source"),
}
