"""What torque asks of the parts.

Here torque becomes mean pressures, then cylinder pressure, over speed, draw and load row. In come a
run's state and the draws; out comes the `Demand` that every limit reads its load from."""
