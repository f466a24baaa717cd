"""Every piece of evidence, in the order in which it is told.

Engines are asked from the last on: what the run tells without the strength of any part is cheap."""

from torquerisk.study.evidence.assembled import ASSEMBLED
from torquerisk.study.evidence.burn import BURN
from torquerisk.study.evidence.charge import CHARGE
from torquerisk.study.evidence.coolant import COOLANT_FLAT, COOLANT_ROSE
from torquerisk.study.evidence.knock_counts import KNOCK_COUNTED, KNOCK_QUIET
from torquerisk.study.evidence.ladder import LADDER
from torquerisk.study.evidence.peak import PEAK
from torquerisk.study.evidence.piece import Piece
from torquerisk.study.evidence.rated import RATED, USUAL
from torquerisk.study.evidence.survived import SURVIVED

PIECES: tuple[Piece, ...] = (
    ASSEMBLED, SURVIVED, LADDER, RATED, USUAL, COOLANT_ROSE, COOLANT_FLAT,
    KNOCK_COUNTED, KNOCK_QUIET, PEAK, CHARGE, BURN,
)  # fmt: skip
