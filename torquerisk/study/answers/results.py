"""What faces may read of the study: its frozen results, their words and constants.

Results only: what works anything out is behind `answers`.
"""

# ruff: noqa: F401

from torquerisk.physics.head_joint.scatter import TighteningMethod
from torquerisk.physics.running_gear.piston_speed import (
    STANDARD_GRAVITY,
    TEXTBOOK_GUIDE,
    PistonSpeedGuide,
    guides,
    neighbours,
)
from torquerisk.study.answers.ceilings import Ceiling, Ceilings
from torquerisk.study.answers.compare import ORDINALS, Comparison, Footing, Least, Side
from torquerisk.study.answers.crossover import Crossover
from torquerisk.study.answers.cycle_traces import MedianCycle
from torquerisk.study.answers.differences import Difference
from torquerisk.study.answers.dip_cells import DOTS, LEAST_EARLY, Cell, IgnitionLine, LimitChange
from torquerisk.study.answers.dip_cells import Side as DipSide
from torquerisk.study.answers.dips import GREATER_PART, Dip, Elsewhere, Sign
from torquerisk.study.answers.gear_loads import FORCES, Extreme, Force, GearLoads, PinReach
from torquerisk.study.answers.measure_next import Measure
from torquerisk.study.answers.next_rung import NextRung
from torquerisk.study.answers.one_cycle import OneCycle
from torquerisk.study.answers.over_known import OverKnown
from torquerisk.study.answers.same_torque_later import Change, Later, Trend
from torquerisk.study.answers.sensitivity import Sensitivity, Share
from torquerisk.study.assessment.assess import BINDING, JUDGED, accepted_rank
from torquerisk.study.assessment.charge_notice import BOOST_ADDED, SOLD_BOOSTED_ASSUMED
from torquerisk.study.assessment.gear_notices import REPLACED_UNKNOWN
from torquerisk.study.assessment.known_notices import (
    BELOW_RUNG,
    EARLIER_BY_FUEL,
    FAR_BELOW_RATING,
    SUPPLY_CONTRADICTED,
    contradicted_supplies,
)
from torquerisk.study.assessment.result import (
    Assessment,
    Band,
    LimitResult,
    State,
    band,
    state_of,
)
from torquerisk.study.cycle.cylinder import Ignition
from torquerisk.study.limit_curve.advice import RuleCost
from torquerisk.study.limit_curve.ask import Binding, Objective, ShapeInfeasibleError
from torquerisk.study.limits import (
    ALL_LIMITS,
    HEARD,
    LIFT_SEEN,
    Limit,
    LimitKind,
    accepted_of,
    place_of,
    wants_inputs,
)
from torquerisk.study.run.operating_state import PhasingSource
from torquerisk.study.strengths.head import HeadCapacity
from torquerisk.study.strengths.head_rings import HEADS_ASSUMED, HeldBy
from torquerisk.study.strengths.head_tightening import TIGHTENED_FAR_TOO_LOW
from torquerisk.study.studs.bench import StudBench
from torquerisk.study.studs.fastener_loads import WASHER_DIAMETERS, FastenerLoads, FiringCurve
from torquerisk.study.studs.fastening import SMALL_TORQUE, Fastening, set_in_tenths
from torquerisk.study.studs.lubricants import OWN, WIDE, OilChange
from torquerisk.study.studs.own_studs import STRENGTHS, OwnStuds
from torquerisk.study.studs.results import JointState, Spread, StudChoice
from torquerisk.study.studs.ring_clamp import RingClamp, RingHold
from torquerisk.study.studs.sequence import Order
from torquerisk.study.table.attainable import CEILING_RANGE, BoostCeiling, Reach, reach_in_words
from torquerisk.study.table.delivered import Tally
from torquerisk.study.table.ignition_hole import IgnitionHole
from torquerisk.study.table.judge import JudgedTable
from torquerisk.study.table.phasing_window import LaterPhasing
from torquerisk.study.table.propose import NEED_REFERENCE, Proposal, Sketch, Wish
from torquerisk.study.table.rows import LimitRow, PressureTarget
from torquerisk.study.table.second_axis import AXES, Axis, axis_named
from torquerisk.study.table.trade_off import Frontier, FrontierPoint, NoTable, Point
from torquerisk.study.table.two_axes import LEAST_LATER, Table2D
