"""The closed vocabulary of headings: what people call the channels of a run (common practice)."""

import re

SAME_WORDS: dict[str, str] = {
    "eng": "engine", "motor": "engine", "crankshaft": "crank", "fly": "flywheel",
    "tq": "torque", "trq": "torque", "torq": "torque", "moment": "torque", "md": "torque",
    "pwr": "power", "horsepower": "hp", "bhp": "hp",
    "whp": "wheel hp", "rwhp": "rear wheel hp", "wtq": "wheel torque", "rwtq": "rear wheel torque",
    "wheels": "wheel", "rollers": "roller", "hubs": "hub", "axles": "axle", "tyres": "wheel",
    "corr": "corrected", "uncorr": "uncorrected", "uncor": "uncorrected", "obs": "observed",
    "revs": "rpm", "temp": "temperature", "press": "pressure", "pres": "pressure",
    "inlet": "intake", "man": "manifold", "manif": "manifold", "map": "manifold pressure",
    "iat": "intake temperature", "mat": "intake temperature", "act": "intake temperature",
    "emap": "exhaust pressure", "backpressure": "exhaust pressure", "exh": "exhaust",
    "kr": "knock retard", "adv": "advance",
    "ign": "ignition", "spark": "ignition", "timing": "ignition",
    "clt": "coolant temperature", "ect": "coolant temperature", "water": "coolant",
    "inj": "injector", "frp": "fuel pressure", "abs": "absolute", "rel": "gauge",
    "relative": "gauge", "gage": "gauge", "gasoline": "petrol", "btc": "btdc", "atc": "atdc",
    "timestamp": "time", "stamp": "", "elapsed": "", "cyl": "cylinder", "maximum": "max",
    "sum": "total",
    "λ": "lambda", "omega": "speed", "ω": "speed",
}  # fmt: skip
"""Words that mean another word of this vocabulary."""

_ABROAD: dict[str, str] = {
    "speed": "drehzahl regime regimen rotacao toerental varvtal obroty vitesse velocita velocidad "
    "velocidade geschwindigkeit snelheid hastighet predkosc",
    "torque": "drehmoment couple coppia par binario koppel vridmoment",
    "power": "leistung puissance potenza potencia vermogen effekt moc",
    "engine": "mot moteur motore silnika",
    "rpm": "giri revoluciones",
    "crank": "kurbelwelle vilebrequin",
    "wheel": "rad rader roue roues ruota ruote rueda ruedas rodas wiel wielen hjul kola",
    "roller": "rolle rollen", "hub": "nabe naben moyeu",
    "total": "gesamt totale totaal summa combined overall",
    "time": "zeit tempo tiempo tijd tid czas",
    "pressure": "druck pression pressione presion pressao druk tryck cisnienie",
    "boost pressure": "ladedruck turbodruck laaddruk turbodruk laddtryck turbotryck",
    "boost": "suralimentation soplado sobrealimentacion sobrealimentacao sovralimentazione "
    "doladowania doladowanie",
    "manifold": "saugrohr collecteur tubulure collettore colector coletor spruitstuk "
    "inlaatspruitstuk grenror insugsror kolektorze kolektora",
    "intake": "ansaug admission aspirazione aspirata admision admissao inlaat insug insugning "
    "insugnings dolotowym dolotowego dolotu dolocie ssacym",
    "intake air": "ansaugluft inlaatlucht insugsluft",
    "charge": "ladeluft laadlucht laddluft carga",
    "air": "aria aire ar powietrza",
    "exhaust": "abgas echappement scarico escape uitlaat avgas spalin",
    "exhaust pressure": "abgasgegendruck contrepression contropressione contrapresion "
    "contrapressao uitlaattegendruck avgasmottryck",
    "temperature": "temps temperatur temperatura temperatuur",
    "coolant": "kuhlmittel kuehlmittel kuhlwasser kuehlwasser wasser eau refroidissement acqua "
    "raffreddamento refrigerante agua arrefecimento koelvloeistof koelwater kylvatten kylvatske "
    "vatten chlodzacej chlodzacego chlodniczego",
    "oil": "ol oel motorol motoroel huile olio aceite oleo olie motorolie olje motorolje oleju",
    "fuel": "kraftstoff carburant carburante combustible combustibile combustivel brandstof "
    "bransle paliwa",
    "petrol": "benzin essence benzina gasolina benzine bensin benzyna",
    "rail": "rampe rampa riel", "rail pressure": "raildruck raildruk",
    "ignition": "zund zundung zundwinkel zundzeitpunkt zuendung zuendwinkel zuendzeitpunkt zzp zw "
    "allumage accensione encendido ignicao ontsteking ontstekingstijdstip voorontsteking "
    "ontstekingsvervroeging tandning tandvinkel tandlage tandforstallning fortandning zaplonu "
    "zaplon fruhzundung vorzundung",
    "advance": "avance anticipo avanco vervroeging wyprzedzenie wyprzedzenia",
    "angle": "angolo angulo",
    "knock": "klopfen cliquetis detonazione detonazioni detonacion detonacao kloppen pingelen "
    "knackning stuki stukowe stukowego",
    "knock count": "klopfzahler klopfzaehler",
    "knock retard": "zundrucknahme zundwinkelrucknahme klopfrucknahme klopfregelung "
    "zuendruecknahme klopfruecknahme knackreglering",
    "knock correction": "klopcorrectie klopfkorrektur",
    "correction": "correzione correccion correcao correctie korrektur korekta",
    "retard": "rucknahme retrait ritardo retardo retraso cofniecie",
    "injector": "injectors injecteur injecteurs iniettore iniettori inyector inyectores injetor",
    "ethanol": "etanol etanolo", "lambda": "luftzahl lambdawert",
    "peak pressure": "spitzendruck zylinderspitzendruck", "max": "maximale massima maxima",
    "cylinder": "zyl zylinder cylindre cilindro cylindra",
    "absolute": "absolut absolu absolue assoluta assoluto absoluta absoluto absoluut bezwzgledne",
    "gauge": "relativ relativa relativo relatief uberdruck overdruk overtryck nadcisnienie",
    "corrected": "korrigiert corrige norm", "uncorrected": "unkorrigiert",
    "actual": "ist istwert gemessen mesure mesuree misurato misurata medido medida gemeten",
    "": "obrotowy obrotowa de du d la le l au aux der des am an den del dell della di al alla alle "
    "da do na w por em van liquide liquido cieczy plynu spalanie spalania",
}  # fmt: skip
"""The same in German, French, Italian, Spanish, Portuguese, Dutch, Swedish and Polish, without
accents (common practice, no source)."""
SAME_WORDS |= {word: ours for ours, words in _ABROAD.items() for word in words.split()}
_COMPOUND = re.compile(
    "(.{2,}?)s?(druck|druk|tryck|temperatur|temperatuur|drehzahl|toerental|varvtal|drehmoment|"
    "vridmoment|moment|koppel|leistung|vermogen|effekt)"
)
"""A word of German, Dutch or Swedish made of two, as 'Kühlmitteltemperatur'."""


def one_spelling(word: str) -> str:
    """A word without case and accents in the words of this vocabulary; itself where it is none."""
    found = None if word in SAME_WORDS else _COMPOUND.fullmatch(word)
    pieces = [word] if found is None or found[1] not in SAME_WORDS else [found[1], found[2]]
    return " ".join(SAME_WORDS.get(piece, piece) for piece in pieces)


_NAMES: dict[str, tuple[str, ...]] = {
    "speed": ("speed", "rpm", "n", "n engine"),
    "torque": ("torque", "nm", "shaft torque", "brake torque"),
    "power": ("power", "kw", "hp", "ps", "brake power", "brake hp"),
    "manifold_pressure": (
        "manifold pressure", "intake pressure", "intake manifold pressure", "charge pressure",
        "boost", "boost pressure", "turbo pressure", "p intake", "p manifold", "manifold",
    ),
    "exhaust_pressure": (
        "exhaust pressure", "exhaust manifold pressure", "exhaust back pressure", "back pressure",
        "turbine intake pressure",
    ),
    "ignition_advance": ("ignition", "ignition advance", "ignition angle", "advance"),
    "ca50": ("ca50", "ca 50", "mfb50", "mfb 50", "50 burn", "50 burned", "50 burn angle", "ai50"),
    "lambda_": (
        "lambda", "air fuel equivalence", "air fuel equivalence ratio",
        "gauge air fuel ratio",
    ),
    "afr": ("afr", "a f", "a f ratio", "air fuel ratio", "air fuel"),
    "intake_temperature": (
        "intake temperature", "charge temperature", "intake air temperature",
        "manifold temperature", "charge air temperature", "manifold air temperature",
        "air charge temperature", "intake manifold temperature",
    ),
    "coolant_temperature": ("coolant temperature", "engine temperature"),
    "coolant_pressure": ("coolant pressure", "cooling system pressure"),
    "fuel_pressure": ("fuel pressure", "rail pressure", "fuel rail pressure", "petrol pressure"),
    "oil_pressure": ("oil pressure",),
    "oil_temperature": ("oil temperature",),
    "peak_pressure": (
        "peak pressure", "peak cylinder pressure", "max cylinder pressure", "pmax", "p max",
        "pcyl max", "cylinder peak pressure", "peak firing pressure",
    ),
    "ethanol_share": (
        "ethanol", "ethanol share", "ethanol content", "ethanol percentage", "fuel ethanol",
        "e content",
    ),
    "injector_duty": (
        "injector duty", "injector duty cycle", "duty", "duty cycle", "injector dc",
        "injector duty ratio",
    ),
    "knock_count": (
        "knock", "knocks", "knock count", "knock counts", "knock events", "knock counter",
    ),
    "knock_retard": (
        "knock retard", "ignition retard", "knock ignition retard", "knock correction",
        "knock control", "feedback knock", "ignition retard by knock control",
    ),
    "ignition_cut": ("ignition cut", "ignition cuts", "cut ignition"),
    "fuel_cut": ("fuel cut", "fuel cuts", "cut fuel", "injection cut"),
    "time": ("time", "t", "log time"),
}  # fmt: skip
NAMES: tuple[tuple[str, frozenset[str]], ...] = tuple(
    (channel, frozenset(name.split())) for channel, names in _NAMES.items() for name in names
)
"""Channel and the words of each of its names."""
LIMIT_NAMES = frozenset(
    frozenset(name.split())
    for name in ("torque limit", "limit", "torque limit table", "max torque")
)
"""Words of the names of a torque limit, which only a limit table has."""

UNIT_WORDS = {"rpm": "speed", "nm": "torque", "kw": "power", "hp": "power", "ps": "power"}
"""Units that are names themselves, with the channel that they name."""
SYMBOLS = {"t": "torque", "m": "torque", "p": "power", "n": "speed"}
"""Letters that name a channel only together with a unit of it."""

PLACES = {
    "wheel": "wheel", "roller": "wheel", "axle": "wheel", "hub": "hub", "crank": "crank",
    "flywheel": "crank", "engine": "crank",
}  # fmt: skip
CORRECTIONS = {
    "sae": "J1349", "j1349": "J1349", "std": "J607", "j607": "J607", "din": "DIN70020",
    "din70020": "DIN70020", "iso": "ISO1585", "iso1585": "ISO1585",
}  # fmt: skip
"""Words beside torque or power that name a correction standard (common practice, no source)."""
UNCORRECTED = frozenset(("uncorrected", "observed", "raw"))

_TARGETS = (
    "target tgt desired setpoint set cmd commanded command request requested demand demanded "
    "wanted wish goal soll sollwert ziel zielwert vorgabe cible consigne souhaite souhaitee "
    "obiettivo richiesto richiesta objetivo deseado deseada desejado desejada alvo doel gewenst "
    "gewenste mal borvarde zadane zadana docelowe docelowa limit threshold min max"
)
TARGETS = frozenset(_TARGETS.split())
"""Words of what is asked for or allowed, not measured: a column with one is never read."""
OF_ANOTHER = frozenset(("cam", "camshaft", "vvt", "valve", "nockenwelle", "injection", "dwell"))
"""Words of angles and advances that are not of ignition."""

TOGETHER = {
    "knock_retard": "the greatest", "knock_count": "the sum", "lambda_": "the leanest",
    "afr": "the leanest",
}  # fmt: skip
"""What is read of columns of one channel by cylinder or bank, so that knock is missed least."""

_FILLERS = frozenset(
    (
        *("at", "the", "of", "by", "to", "on", "in", "from", "run", "pull", "test", "no", "nr"),
        *("value", "signal", "sensor", "channel", "ch", "logged", "measured", "actual"),
        *("smoothed", "filtered", "smooth", "filter", "rev"),
    )
)
_MEAN = frozenset(("average", "avg", "mean"))
_PLACE_WORDS = frozenset((*PLACES, "rear", "front", "driven", "dyno", "chassis", "total"))
_REFERENCES = frozenset(("absolute", "gauge"))
_TDC = frozenset(("btdc", "atdc", "before", "after", "tdc", "top", "dead", "centre", "center"))
_PARTS = frozenset(("cylinder", "bank"))
TURNING = _REFERENCES | _TDC
"""Words that turn a value round, which go with its unit."""
KNOWN_BESIDE: dict[str, frozenset[str]] = {
    "speed": _MEAN | {"engine", "crank", "rpm"},
    "torque": _MEAN | _PLACE_WORDS | set(CORRECTIONS) | UNCORRECTED | {"corrected", "70020", "nm"},
    "power": _MEAN
    | _PLACE_WORDS
    | set(CORRECTIONS)
    | UNCORRECTED
    | {"corrected", "70020", "hp", "kw"},
    "manifold_pressure": _REFERENCES | {"boost", "pressure", "intake", "turbo"},
    "exhaust_pressure": _REFERENCES | {"manifold"},
    "coolant_pressure": _REFERENCES | {"engine", "system"},
    "fuel_pressure": _REFERENCES,
    "oil_pressure": _REFERENCES | {"engine"},
    "peak_pressure": _REFERENCES,
    "ignition_advance": _TDC | _PARTS | {"advance", "angle", "kat", "ponto", "final", "total"},
    "knock_count": _PARTS | {"total"},
    "ca50": _TDC | _PARTS,
    "knock_retard": _PARTS | {"feedback", "10"},
    "lambda_": frozenset(("wideband", "bank", "exhaust", "sonda")),
    "afr": frozenset(("petrol", "wideband", "bank", "exhaust")),
    "coolant_temperature": frozenset(("engine",)),
    "oil_temperature": frozenset(("engine",)),
}
"""Words that may stand beside a channel's name, for what they mean is read or changes nothing."""


def is_known_beside(word: str, channel: str) -> bool:
    """True where a word may stand beside the channel's name; 10, 100 and so on may be factors."""
    counts = word.isdigit() and word.strip("0") != "1"
    return word in _FILLERS or counts or word == "1" or word in KNOWN_BESIDE.get(channel, ())
