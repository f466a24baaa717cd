"""What an engine carries and what a torque curve asks of it, in rooms from `run` up to
`answers`; none knows one above it."""
