"""Which column of the quasi-random sequence each uncertain input owns.

A name's place in this list is its column, for good: a new name goes to the end, and one that is no
longer drawn leaves "" in its place, which the next new name may take. So no other draw moves.
"""

COLUMNS: tuple[str, ...] = (
    "model.phasing",
    "model.reading",
    "head_joint.ring_share",
    "head_joint.thread_friction",
    "model.tool",
    "charge.burn_duration",
    "head_joint.sealing_line_load",
    "head_joint.gasket_relaxation",
    "model.knock_threshold",
    "model.peak_pressure",
    "model.cyclic",
    "head_joint.head_friction",
    "head_joint.sealing_diameter",
    "running_gear.rod_yield_strength",
    "running_gear.rod_section_area",
    "model.earlier_reading",
    "model.earlier_phasing",
    "fuel.octane",
    "model.best_phasing",
    "charge.heat_loss_scale",
    "charge.friction_scale",
    "model.cylinders",
    "model.fastener_strength",
    "model.compliance",
    "head_joint.load_introduction",
    "head_joint.running_temperature",
    "running_gear.rod_fatigue_share",
    "running_gear.rod_bolt_preload_share",
    "running_gear.piston_mass",
    "running_gear.rod_mass",
    "running_gear.rod_tensile_strength",
    "running_gear.rod_inertia_ratio",
    "charge.trapped_heating",
    "charge.intake_temperature",
    "fuel.lambda_",
    "compression_ratio",
    "model.pumping",
    "head_joint.tightening_torque",
    "head_joint.clamped_length",
    "head_joint.shank_diameter",
    "model.acceptance",
    "head_joint.engagement_length",
    "model.block_strength",
    "model.knock_rate",
    "model.lining",
    "model.preignition_rate",
    "model.supply",
    "running_gear.big_end_clearance",
    "running_gear.big_end_diameter",
    "running_gear.big_end_width",
    "running_gear.oil_temperature",
    "running_gear.pin_bore_diameter",
    "running_gear.pin_boss_length",
    "running_gear.pin_diameter",
    "running_gear.pin_yield_strength",
    "running_gear.rod_big_end_share",
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
    "charge.peak_pressure_limit",
)
WIDTH = 128
"""Columns that are made whatever is drawn: their scramble depends on how many there are."""


def column_of(name: str) -> int:
    """The column of a drawn name; a KeyError says where to declare one."""
    if name not in COLUMNS:
        raise KeyError(f"{name} owns no column: append it to torquerisk/study/draws/columns.py")
    return COLUMNS.index(name)
