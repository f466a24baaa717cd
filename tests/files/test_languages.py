"""A log's headings in every language that is read, each against the same row in English."""

import numpy as np
import pytest
from plain_run import read

from torquerisk.case import LEFT_OUT

CELLS = (0.5, 200.25, 0.65, 12.5, 0.82, 38.5, 91.5, 4.25, 104.5, 3.75, 2.5)
ENGLISH = (
    "Time [s]; Engine speed [rpm]; Torque [Nm]; Boost pressure [bar]; Ignition advance [°]; "
    "Lambda; Intake temperature [°C]; Coolant temperature [°C]; Oil pressure [bar]; "
    "Oil temperature [°C]; Fuel pressure [bar]; Knock retard [°]"
)
ROWS = {
    "German": "Zeit [s]; Drehzahl [1/min]; Drehmoment [Nm]; Ladedruck [bar]; Zündwinkel [°]; "
    "Lambda; Ansauglufttemperatur [°C]; Kühlmitteltemperatur [°C]; Öldruck [bar]; "
    "Öltemperatur [°C]; Kraftstoffdruck [bar]; Zündrücknahme [°]",
    "German without marks": "Zeit [s]; Drehzahl [1/min]; Drehmoment [Nm]; Ladedruck ist [bar]; "
    "Zuendzeitpunkt [Grad]; Luftzahl; Ladelufttemperatur [Grad C]; Kuehlwassertemperatur [Grad C]; "
    "Oeldruck [bar]; Oeltemperatur [Grad C]; Raildruck [bar]; Klopfruecknahme [Grad]",
    "French": "Temps [s]; Régime [tr/min]; Couple [N.m]; Pression de suralimentation [bar]; "
    "Avance à l'allumage [°]; Lambda; Température d'admission [°C]; Température d'eau [°C]; "
    "Pression d'huile [bar]; Température d'huile [°C]; Pression d'essence [bar]; "
    "Retrait cliquetis [°]",
    "French, another": "Temps [s]; Vitesse [tr/min]; Couple [N.m]; Pression turbo [bar]; "
    "Angle d'allumage [°]; Lambda; Température air admission [°C]; "
    "Température liquide de refroidissement [°C]; Pression huile [bar]; Temp. huile [°C]; "
    "Pression carburant [bar]; Correction cliquetis [°]",
    "Italian": "Tempo [s]; Regime [giri/min]; Coppia [Nm]; Pressione sovralimentazione [bar]; "
    "Anticipo accensione [°]; Lambda; Temperatura aspirazione [°C]; Temperatura acqua [°C]; "
    "Pressione olio [bar]; Temperatura olio [°C]; Pressione benzina [bar]; "
    "Ritardo detonazione [°]",
    "Italian, another": "Tempo [s]; Giri [giri/min]; Coppia [Nm]; Pressione turbo [bar]; "
    "Anticipo di accensione [°]; Lambda; Temperatura aria aspirata [°C]; "
    "Temperatura liquido di raffreddamento [°C]; Pressione dell'olio [bar]; "
    "Temperatura dell'olio [°C]; Pressione carburante [bar]; Correzione detonazione [°]",
    "Spanish": "Tiempo [s]; Régimen [rpm]; Par [Nm]; Presión de soplado [bar]; "
    "Avance de encendido [°]; Lambda; Temperatura de admisión [°C]; "
    "Temperatura del refrigerante [°C]; Presión de aceite [bar]; Temperatura de aceite [°C]; "
    "Presión de combustible [bar]; Retardo por detonación [°]",
    "Spanish, another": "Tiempo [s]; Velocidad [rpm]; Par [Nm]; Presión de sobrealimentación "
    "[bar]; Ángulo de encendido [°]; Lambda; Temperatura del aire de admisión [°C]; "
    "Temperatura del agua [°C]; Presión del aceite [bar]; Temp. aceite [°C]; "
    "Presión de gasolina [bar]; Corrección por detonación [°]",
    "Portuguese": "Tempo [s]; Rotação [rpm]; Binário [Nm]; Pressão do turbo [bar]; "
    "Avanço de ignição [°]; Lambda; Temperatura de admissão [°C]; Temperatura da água [°C]; "
    "Pressão do óleo [bar]; Temperatura do óleo [°C]; Pressão de combustível [bar]; "
    "Retardo por detonação [°]",
    "Dutch": "Tijd [s]; Toerental [omw/min]; Koppel [Nm]; Laaddruk [bar]; "
    "Ontstekingsvervroeging [°]; Lambda; Inlaatluchttemperatuur [°C]; "
    "Koelvloeistoftemperatuur [°C]; Oliedruk [bar]; Olietemperatuur [°C]; Brandstofdruk [bar]; "
    "Klopcorrectie [°]",
    "Swedish": "Tid [s]; Varvtal [varv/min]; Vridmoment [Nm]; Laddtryck [bar]; "
    "Tändförställning [°]; Lambda; Insugstemperatur [°C]; Kylvattentemperatur [°C]; "
    "Oljetryck [bar]; Oljetemperatur [°C]; Bränsletryck [bar]; Knackreglering [°]",
    "Polish": "Czas [s]; Obroty [obr/min]; Moment obrotowy [Nm]; Ciśnienie doładowania [bar]; "
    "Kąt wyprzedzenia zapłonu [°]; Lambda; Temperatura powietrza dolotowego [°C]; "
    "Temperatura cieczy chłodzącej [°C]; Ciśnienie oleju [bar]; Temperatura oleju [°C]; "
    "Ciśnienie paliwa [bar]; Cofnięcie zapłonu [°]",
}  # fmt: skip
"""Common practice, no source: what loggers of each country write over their columns."""
_ABSOLUTE = (
    "Saugrohrdruck; Ladedruck absolut; Ansaugdruck; Pression collecteur; Pression d'admission; "
    "Pression collecteur absolue; Pressione collettore; Pressione di aspirazione; "
    "Presión de admisión; Presión del colector de admisión; Presión absoluta del colector; "
    "Pressão do coletor; Pressão de admissão; Inlaatdruk; Inlaatspruitstukdruk; Insugstryck; "
    "Insugningstryck; Ciśnienie w kolektorze dolotowym; Ciśnienie w kolektorze"
)


def written(headings: str, sep: str = ";", coding: str = "utf-8") -> bytes:
    rows = [
        sep.join(f"{v:.3f}" for v in (0.1 * i, 2000.0 + 250 * i, *np.array(CELLS[1:]) + 0.01 * i))
        for i in range(8)
    ]
    return "\n".join([sep.join(headings.split("; ")), *rows]).encode(coding)


@pytest.mark.parametrize("language", ROWS)
def test_a_heading_row_of_each_language_reads_as_its_english_twin(language):
    """Metamorphic: the language of the headings changes no value, and leaves none out."""
    one, other = read(written(ENGLISH)), read(written(ROWS[language]))
    assert len(one.channels) == 10
    assert list(other.channels) == list(one.channels)
    for name, values in {"torque": one.torque, "speed": one.speed, **one.channels}.items():
        same = {"torque": other.torque, "speed": other.speed, **other.channels}[name]
        assert same == pytest.approx(values, rel=1e-12), name
    assert not any("left out" in notice.text.lower() for notice in other.notices)


@pytest.mark.parametrize("heading", _ABSOLUTE.split("; "))
def test_manifold_pressure_of_each_language_is_absolute_unless_it_is_boost(heading):
    """Metamorphic: as 'manifold pressure' and 'intake pressure' are."""
    rows = "".join(f"{n};200;140\n" for n in (2000, 3000, 4000))
    run = read(f"rpm;torque [Nm];{heading} [kPa]\n{rows}")
    assert run.channels["manifold_pressure"] == pytest.approx([140e3] * 3)


@pytest.mark.parametrize(
    ("heading", "cell", "what"),
    [
        ("Avance de encendidox [°]", "12", "ignition advance"),
        ("Ladedruck Kanal B [bar]", "0.6", "manifold pressure"),
        ("knock xyz", "2", "knock"),
        ("lambda xyz", "0.8", "lambda"),
    ],
)
def test_a_column_left_out_on_which_a_verdict_may_turn_is_a_notice_of_its_own(heading, cell, what):
    """Identity: a word that is not known leaves it out; that it was there is told apart, unless
    the channel is read from another column, or a person left it out."""
    row = f"rpm;torque [Nm];{heading}" + "{}\n"
    cells = "".join(f"{n};200;{cell}" + "{}\n" for n in (2000, 3000, 4000))

    def told(run) -> list[str]:
        return [n.text for n in run.notices if n.code == LEFT_OUT]

    [said] = told(read((row + cells).replace("{}", "")))
    assert f"{what} ('{heading}')" in said
    assert told(read((row + cells).replace("{}", ""), columns={heading: ""})) == []
    plain = {"ignition advance": "ignition [deg]", "manifold pressure": "MAP [kPa]"}.get(what, what)
    value = {"MAP [kPa]": "160", "ignition [deg]": "12"}.get(plain, "1")
    both = row.replace("{}", f";{plain}") + cells.replace("{}", f";{value}")
    assert told(read(both)) == []


@pytest.mark.parametrize(
    "heading", ["Boost target [bar]", "Ladedruck Soll [bar]", "Knock sensor [V]", "cam advance [°]"]
)
def test_what_is_asked_for_or_of_another_part_is_neither_read_nor_missed(heading):
    """Identity: a target is not what was measured, and a cam's advance is not the ignition's."""
    rows = "".join(f"{n};200;0.6\n" for n in (2000, 3000, 4000))
    run = read(f"rpm;torque [Nm];{heading}\n{rows}")
    assert run.channels == {}
    assert not any(n.code == LEFT_OUT for n in run.notices)


@pytest.mark.parametrize("heading", ["Brake pressure [bar]", "Ciśnienie xyz [bar]"])
def test_a_pressure_of_no_known_channel_is_told(heading):
    """Identity: a word beside pressure that is not known is told, not only recorded."""
    rows = "".join(f"{n};200;0.6\n" for n in (2000, 3000, 4000))
    run = read(f"rpm;torque [Nm];{heading}\n{rows}")
    assert run.channels == {}
    assert any(f"not known as a channel: '{heading}'" in n.text for n in run.notices)
