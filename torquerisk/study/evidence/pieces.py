"""Every piece of evidence, in the order in which engines are asked."""

from torquerisk.study.evidence.burn import BURN
from torquerisk.study.evidence.charge import CHARGE
from torquerisk.study.evidence.coolant import COOLANT_FLAT, COOLANT_ROSE
from torquerisk.study.evidence.peak import PEAK
from torquerisk.study.evidence.piece import Piece
from torquerisk.study.evidence.rated import RATED, USUAL
from torquerisk.study.evidence.survived import SURVIVED

PIECES: tuple[Piece, ...] = (
    SURVIVED, RATED, USUAL, BURN, CHARGE, PEAK, COOLANT_ROSE, COOLANT_FLAT,
)  # fmt: skip
