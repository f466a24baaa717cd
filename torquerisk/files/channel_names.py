"""The closed table of headings: what people call the channels of a run."""

_ALIASES: dict[str, tuple[str, ...]] = {
    "speed": (
        "engine speed", "speed", "rpm", "n", "n eng", "engine rpm", "rpm engine", "revs",
        "engine revs", "crank speed", "motor speed", "r min",
    ),
    "torque": (
        "torque", "tq", "trq", "moment", "engine torque", "brake torque", "crank torque",
        "flywheel torque", "wheel torque", "hub torque", "shaft torque", "torque engine", "md",
        "torque crank", "torque wheel", "torque hub", "nm", "wtq",
    ),
    "power": (
        "power", "pwr", "engine power", "brake power", "crank power", "flywheel power",
        "wheel power", "hub power", "power engine", "power crank", "power wheel", "power hub",
        "kw", "hp", "bhp", "whp", "ps", "horsepower", "brake horsepower", "wheel horsepower",
    ),
    "manifold_pressure": (
        "manifold pressure", "map", "intake manifold pressure", "manifold absolute pressure",
        "intake pressure", "inlet pressure", "inlet manifold pressure", "manifold press",
        "manifold pressure absolute", "boost", "boost pressure", "charge pressure", "p intake",
        "p man", "manifold",
    ),
    "exhaust_pressure": (
        "exhaust pressure", "exhaust manifold pressure", "exhaust back pressure",
        "exhaust backpressure", "back pressure", "backpressure", "turbine inlet pressure", "emap",
    ),
    "ignition_advance": (
        "ignition advance", "ignition timing", "ignition", "ignition angle", "spark advance",
        "spark timing", "spark", "spark angle", "timing", "advance", "timing advance",
        "ign advance", "ign timing", "ign", "ign angle",
    ),
    "ca50": ("ca50", "ca 50", "mfb50", "mfb 50", "50 burn", "50 burned", "50 burn angle", "ai50"),
    "lambda_": (
        "lambda", "λ", "lambda value", "measured lambda", "air fuel equivalence",
        "air fuel equivalence ratio", "relative air fuel ratio",
    ),
    "afr": ("afr", "a f", "a f ratio", "air fuel ratio", "air fuel", "wideband afr"),
    "intake_temperature": (
        "intake temperature", "iat", "charge temperature", "intake air temperature",
        "inlet temperature", "manifold temperature", "intake temp", "charge temp",
        "charge air temperature", "intake air temp", "inlet air temperature",
        "manifold air temperature", "mat", "act", "air charge temperature",
    ),
    "coolant_temperature": (
        "coolant temperature", "coolant temp", "clt", "ect", "water temperature", "water temp",
        "engine coolant temperature", "engine temperature", "engine coolant temp",
    ),
    "coolant_pressure": (
        "coolant pressure", "water pressure", "coolant press", "cooling system pressure",
    ),
    "fuel_pressure": ("fuel pressure", "rail pressure", "fuel rail pressure", "fuel press", "frp"),
    "oil_pressure": ("oil pressure", "oil press", "engine oil pressure"),
    "oil_temperature": ("oil temperature", "oil temp", "engine oil temperature", "engine oil temp"),
    "peak_pressure": (
        "peak pressure", "peak cylinder pressure", "maximum cylinder pressure", "pmax", "p max",
        "pcyl max", "cylinder peak pressure", "peak firing pressure",
    ),
    "ethanol_share": (
        "ethanol share", "ethanol", "ethanol content", "ethanol percentage", "fuel ethanol",
        "e content",
    ),
    "injector_duty": (
        "injector duty", "injector duty cycle", "inj duty", "duty", "duty cycle", "injector dc",
        "injector duty ratio",
    ),
    "time": ("time", "t", "elapsed time", "time stamp", "timestamp", "log time"),
}  # fmt: skip
BY_NAME = {name: channel for channel, names in _ALIASES.items() for name in names}
LIMIT_NAMES = ("torque limit", "limit", "limit torque", "torque limit table", "max torque")

UNIT_IN_NAME: dict[str, str] = {
    "rpm": "rpm", "engine rpm": "rpm", "rpm engine": "rpm", "r min": "rpm", "nm": "Nm",
    "kw": "kW", "hp": "hp", "bhp": "hp", "whp": "hp", "ps": "PS", "horsepower": "hp",
    "brake horsepower": "hp", "wheel horsepower": "hp",
}  # fmt: skip
"""Headings that are a unit themselves, or say it."""

SYMBOLS = {"t": "torque", "m": "torque", "p": "power"}
"""Letters that name a channel only together with a unit of it."""

PLACES = {
    "wheel": "wheel", "whp": "wheel", "wtq": "wheel", "hub": "hub", "crank": "crank",
    "flywheel": "crank", "engine": "crank",
}  # fmt: skip
GAUGE_NAMES = ("boost", "boost pressure", "charge pressure")
CORRECTIONS = {
    "sae": "J1349", "j1349": "J1349", "std": "J607", "j607": "J607", "din": "DIN70020",
    "din70020": "DIN70020", "iso": "ISO1585", "iso1585": "ISO1585",
}  # fmt: skip
"""Words beside torque or power that name a correction standard (common practice, no source)."""

QUALIFIERS = (
    *CORRECTIONS,
    *("corrected", "uncorrected", "observed", "raw", "measured", "actual", "gauge", "abs"),
    *("absolute", "petrol", "gasoline", "smoothed", "filtered"),
)
"""Words that may stand beside a name without changing what it names."""
