"""Which column of the quasi-random sequence each uncertain input owns.

A name's place in this list is its column, for good: a new name goes to the end, and one that is no
longer drawn leaves "" in its place, which the next new name may take. So no other draw moves.
"""

COLUMNS: tuple[str, ...] = (
    "charge.burn_duration",
    "charge.friction_scale",
    "charge.heat_loss_scale",
    "charge.intake_temperature",
    "charge.trapped_heating",
    "compression_ratio",
    "fuel.lambda_",
    "fuel.octane",
    "head_joint.clamped_length",
    "head_joint.engagement_length",
    "head_joint.gasket_relaxation",
    "head_joint.head_friction",
    "head_joint.load_introduction",
    "head_joint.ring_share",
    "head_joint.running_temperature",
    "head_joint.sealing_diameter",
    "head_joint.sealing_line_load",
    "head_joint.shank_diameter",
    "head_joint.thread_friction",
    "head_joint.tightening_torque",
    "model.acceptance",
    "model.best_phasing",
    "model.block_strength",
    "model.compliance",
    "model.cyclic",
    "model.cylinders",
    "model.earlier_phasing",
    "model.earlier_reading",
    "model.fastener_strength",
    "model.knock_rate",
    "model.knock_threshold",
    "model.lining",
    "model.peak_pressure",
    "model.phasing",
    "model.preignition_rate",
    "model.pumping",
    "model.reading",
    "model.supply",
    "model.tool",
    "running_gear.big_end_clearance",
    "running_gear.big_end_diameter",
    "running_gear.big_end_width",
    "running_gear.oil_temperature",
    "running_gear.pin_bore_diameter",
    "running_gear.pin_boss_length",
    "running_gear.pin_diameter",
    "running_gear.pin_yield_strength",
    "running_gear.piston_mass",
    "running_gear.rod_big_end_share",
    "running_gear.rod_bolt_preload_share",
    "running_gear.rod_fatigue_share",
    "running_gear.rod_inertia_ratio",
    "running_gear.rod_mass",
    "running_gear.rod_section_area",
    "running_gear.rod_tensile_strength",
    "running_gear.rod_yield_strength",
    "running_gear.small_end_width",
    "supply.fuel_pump_flow",
    "supply.injector_flow",
    "supply.pressure_sensor_limit",
    "supply.spark_reserve",
    "valvetrain.spring_force_at_nose",
    "valvetrain.spring_force_on_seat",
    "valvetrain.valve_deceleration",
    "valvetrain.valve_effective_mass",
    "model.ignition_delay",
    "model.premixed_share",
    "fuel.cetane",
)
WIDTH = 128
"""Columns that are made whatever is drawn: their scramble depends on how many there are."""


def column_of(name: str) -> int:
    """The column of a drawn name; a KeyError says where to declare one."""
    if name not in COLUMNS:
        raise KeyError(f"{name} owns no column: append it to torquerisk/study/draws/columns.py")
    return COLUMNS.index(name)
