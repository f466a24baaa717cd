"""The one home of the array type and of the sizes in SI of the units that people are shown."""

import math

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Floats = float | Array

RPM = math.pi / 30
DEGREE = math.pi / 180
BAR = 1e5
KN = KILO = 1e3
MEGA = 1e6
MM = 1e-3
INCH = 0.0254
POUND = 0.45359237
POUND_FORCE = POUND * 9.80665
PSI = POUND_FORCE / INCH**2
